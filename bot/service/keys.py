"""Changing the master key: every data key is wrapped anew; nothing that it sealed has to be touched."""

from collections.abc import Iterator

from bot.store.base import Begin

BATCH = 200  # data keys in one transaction: well below a tenth of a second, so that `serve` can run beside it


def rotate(begin: Begin) -> Iterator[tuple[int, int]]:
    """Wrap with the first master key whatever another one wraps; yields (done so far, left) after each batch.

    Each batch is a transaction of its own, and what is done is told from what is left by the row itself: cut
    off anywhere, the next run goes on from there, and meanwhile both keys open everything.
    """
    done = 0
    while True:
        with begin() as tx:
            fresh = tx.rewrap(BATCH)
            left = tx.left_to_rewrap()
        done += fresh
        yield done, left
        if left == 0:
            return
