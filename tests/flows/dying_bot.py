"""A start-up file of the test's own: the demo's bot, killed once it has stored and claimed an update."""

import os
import signal
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from bot.service import handle
from demo import bot


def _die(*_: object) -> bool:
    os.kill(os.getpid(), signal.SIGKILL)
    return False


def main() -> int:
    """Run the bot; its first handled update is its end."""
    with_inbox = handle.inbox.claim

    def claim(*arguments: object) -> object:
        stored = with_inbox(*arguments)  # type: ignore[arg-type]
        return _die() if stored is not None else None

    handle.inbox.claim = claim  # type: ignore[assignment]
    return bot.main()


if __name__ == "__main__":
    sys.exit(main())
