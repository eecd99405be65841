"""A start-up file of the test's own: the demo's bot, killed once it has stored and claimed an update."""

import os
import signal
import sys
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from bot.store import inbox
from demo import bot


def main() -> int:
    """Run the bot; the first update it takes from the inbox is its end."""
    claim = inbox.claim_some

    def claim_and_die(*arguments: Any) -> list[inbox.Stored]:
        stored = claim(*arguments)
        if stored:
            os.kill(os.getpid(), signal.SIGKILL)
        return stored

    inbox.claim_some = claim_and_die  # type: ignore[assignment] # the same, and then the end
    return bot.main()


if __name__ == "__main__":
    sys.exit(main())
