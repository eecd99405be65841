"""A break of her own: one tap, no reason asked, over by itself or when she says so."""

import datetime as dt

from dateutil import parser as dates

from bot.conversation.effects import Pause, Resume, Turn, Wait, say
from bot.conversation.speech import Button, Say
from bot.conversation.view import OWN_PAUSE, ClientView, contact_values

DAYS = (1, 3, 7)
LONGEST_DAYS = 120


def ask() -> Turn:
    """How long a break."""
    buttons = tuple(
        Button("pause.button.one" if days == 1 else "pause.button", f"pause:{days}", {"days": days})
        for days in DAYS
    )
    return Turn(says=(Say("pause.ask", rows=(buttons, (Button("pause.button.until", "pause:until"),))),))


def pressed(view: ClientView, choice: str) -> Turn:
    """A length she chose, or that she wants to name a day."""
    if choice == "until":
        return Turn((Wait({"for": "pause"}),), (Say("pause.which"),))
    if choice not in {str(days) for days in DAYS}:
        return say("press.unknown")
    return _until(view.today + dt.timedelta(days=int(choice)))


def take_date(view: ClientView, text: str) -> Turn | None:
    """A day she names, such as "14 March" or "Friday"; None when there is none in the text."""
    if text.strip().isdecimal():
        return None  # a bare number is a count
    midnight = dt.datetime.combine(view.today, dt.time())
    try:
        named = dates.parse(text, default=midnight, dayfirst=True).date()
    except (ValueError, OverflowError):
        return None
    if named <= view.today and str(named.year) not in text:
        named = named.replace(year=named.year + 1)
    if not 0 < (named - view.today).days <= LONGEST_DAYS:
        return Turn(says=(Say("pause.too_long"),))
    return _until(named)


def _until(on: dt.date) -> Turn:
    return Turn((Pause(on, OWN_PAUSE), Wait(None)), (Say("paused", {"day": f"{on.day} {on:%B}"}),))


def resume(view: ClientView) -> Turn:
    """The end of a break she took herself; one that a warning began is the therapist's to end."""
    if view.pause is not None and view.pause.reason != OWN_PAUSE:
        return say("resume.not_yours", **contact_values(view))
    done, sets = view.done(view.today), view.sets(view.today)
    if not view.paused:
        return say("resume.not_paused", done=done, sets=sets)
    return Turn((Resume(),)) + say("resumed", done=done, sets=sets)
