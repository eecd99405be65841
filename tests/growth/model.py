"""What a number of clients asks of the platform and the database, worked out on paper.

The figures of behaviour are common practice, no source: settings of the model, not findings. The platform's
rate is from its FAQ for bots (read). The sizes of rows are measured: a kept kill test on SQLite, pages of
tables and indexes together, divided by rows.
"""

from dataclasses import dataclass

ROW_BYTES = {"outbox": 926, "inbox": 992, "set_report": 463, "unasked": 284}
CLIENT_BYTES = 630 + 573 + 1638 + 303 + 410  # chat, client, prescription, data key, track
DAY_S = 86_400


@dataclass(frozen=True)
class Load:
    """How many clients, and how they behave.

    answered: share of nudges that are answered. calls: to the platform for each answer: the reply, the
    button's spinner, the buttons taken off. rate: messages and calls a second for one bot. bulk: share of it
    that nudges may use. morning_s: over which the first nudges of the day are due. lifetime_s: after which a
    nudge is let go. answer_after_s: mean time from nudge to answer.
    """

    clients: int
    nudges_a_day: int = 3
    answered: float = 0.6
    calls: int = 3
    rate: float = 30.0
    bulk: float = 0.8
    morning_s: float = 3 * 3600
    lifetime_s: float = 3 * 3600
    answer_after_s: float = 1200.0


def nudges_per_s(load: Load) -> float:
    """The most nudges a second one bot can keep up, answers going first."""
    return min(load.rate * load.bulk, load.rate / (1 + load.answered * load.calls))


def most_clients(load: Load) -> float:
    """How many clients one bot reaches on a morning before nudges are let go unsent."""
    return nudges_per_s(load) * (load.morning_s + load.lifetime_s)


def peak_per_s(load: Load) -> float:
    """Messages and calls a second on the morning, if none is to wait."""
    return load.clients / load.morning_s * (1 + load.answered * load.calls)


def longest_wait_s(load: Load) -> float:
    """How late the last nudge of the morning goes out, as long as none is let go."""
    return max(0.0, load.clients / nudges_per_s(load) - load.morning_s)


def bytes_a_day(load: Load) -> float:
    """How much the database grows in a day, nothing taken away."""
    answers = load.nudges_a_day * load.answered
    rows = {
        "outbox": load.nudges_a_day + answers * load.calls,
        "inbox": answers,
        "set_report": answers,
        "unasked": load.nudges_a_day,
    }
    return load.clients * sum(number * ROW_BYTES[name] for name, number in rows.items())
