"""The demo's people are invented, so that nobody has to sign the rules for them; it says so on starting."""

from bot.store.base import Tx

NOTE = (
    "Invented people only: clients are enrolled here though no clinician has signed the rules and texts.\n"
    "For real clients the program asks for that signature first."
)


class Exempt:
    """The approval that is brought along in the demo, and nowhere else."""

    def missing(self, tx: Tx, language: str) -> tuple[str, ...]:
        """Nothing is missing for an invented client."""
        del tx, language
        return ()
