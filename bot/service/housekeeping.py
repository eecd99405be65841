"""What is let go of, and what comes back, in time."""

from bot.service import clinic_facts, hand_overs
from bot.service.office import Office
from bot.store import inbox


def run(office: Office) -> int:
    """Free the platform's update numbers, give clients back, let go of the chats of those who have left.

    Tells how many clients went back.
    """
    now = office.clock.now()
    with office.begin() as tx:
        inbox.release_keys(tx, now)
        back = hand_overs.end_due(tx, now)
        clinic_facts.let_leave(tx, now)
        return back
