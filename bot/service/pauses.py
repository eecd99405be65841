"""How long to wait before something is tried again: ever longer, and never all at the same moment."""

from tenacity import RetryCallState, wait_exponential_jitter

JITTER = 0.25  # of the first pause, at random on top


def pause_after(failures: int, first_s: float, longest_s: float) -> float:
    """Seconds to wait after the `failures`-th failure in a row (1 and up): doubling, at most `longest_s`."""
    state = RetryCallState(retry_object=None, fn=None, args=(), kwargs={})  # type: ignore[arg-type] # not asked
    state.attempt_number = failures
    return wait_exponential_jitter(multiplier=first_s, max=longest_s, jitter=JITTER * first_s)(state)
