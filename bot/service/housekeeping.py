"""What is let go of, and what comes back, in time."""

from bot.service import hand_overs
from bot.service.office import Office
from bot.store import inbox


def run(office: Office) -> int:
    """Free the platform's update numbers after three days; give clients back whose hand-over is over.

    Tells how many went back.
    """
    now = office.clock.now()
    with office.begin() as tx:
        inbox.release_keys(tx, now)
        return hand_overs.end_due(tx, now)
