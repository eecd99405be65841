"""A start-up file of the test's own: the demo's bot with faults in it; what it tells goes to a file.

They quote what somebody wrote, as faults do: one in the handling of an update, one in a statement.
"""

import os
import sys
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import sqlalchemy as sa

from bot.conversation import client
from demo import bot

FAILS, FAILS_IN_SQL = "plantedfault", "plantedstatement"


def main() -> int:
    """Run the bot; a message that holds one of these words fails, with the message in the error."""
    os.dup2(os.open(os.environ["ERRORS_TO"], os.O_CREAT | os.O_WRONLY | os.O_APPEND, 0o600), 2)
    step = client.step

    def fail(view: Any, body: Any) -> Any:
        text = getattr(body, "text", "")
        if FAILS in text:
            raise ValueError(f"cannot read {text!r} of {view.client!r}")
        if FAILS_IN_SQL in text:
            with sa.create_engine("sqlite://").begin() as connection:
                connection.execute(sa.text("INSERT INTO nowhere VALUES (:text)"), {"text": text})
        return step(view, body)

    client.step = fail
    return bot.main()


if __name__ == "__main__":
    sys.exit(main())
