"""A break of her own: one tap, no reason asked, over by itself or when she says so."""

import datetime as dt
import re

from dateutil import parser as dates
from dateutil.relativedelta import relativedelta

from bot.conversation.effects import Pause, Resume, Turn, Wait, say
from bot.conversation.speech import Button, Say
from bot.conversation.view import OWN_PAUSE, ClientView, contact_values, date_text

DAYS = (1, 3, 7)
LONGEST_DAYS = 120
WEEK_DAYS = 7
_SPAN = re.compile(r"\b(?:(\d{1,3})|(an?|one)|(two)|(three))\s*(day|week)s?\b", re.IGNORECASE)
_LEAD_IN = re.compile(r"^(?:until|till|til|for|on)\s+", re.IGNORECASE)
_UNTIL = re.compile(r"\b(?:until|till|til)\s+(?:the\s+)?(.+)$", re.IGNORECASE)


def ask() -> Turn:
    """How long a break."""
    buttons = tuple(
        Button("pause.button.one" if days == 1 else "pause.button", f"pause:{days}", {"days": days})
        for days in DAYS
    )
    return Turn(says=(Say("pause.ask", rows=(buttons, (Button("pause.button.until", "pause:until"),))),))


def wanted(view: ClientView, text: str = "") -> Turn:
    """A break she asks for in words: at once where she names its length or end, else asked how long.

    Not while the programme is paused anyway, by a warning or by her therapist.
    """
    if view.held:
        return resume(view)
    until = _UNTIL.search(text)
    span = dt.timedelta(days=int(text)) if text.strip().isdecimal() else _span(_SPAN.search(text))
    named = view.today + span if span else take_day(until[1] if until else text, view.today)
    return ask() if named is None else _checked(view, named)


def pressed(view: ClientView, choice: str) -> Turn:
    """A length she chose, or that she wants to name a day."""
    if choice == "until":
        return Turn((Wait({"for": "pause"}),), (Say("pause.which"),))
    if choice == "ask":
        return wanted(view)
    if choice not in {str(days) for days in DAYS}:
        return say("press.unknown")
    return _until(view.today + dt.timedelta(days=int(choice)))


def take_date(view: ClientView, text: str) -> Turn | None:
    """A day she names, such as "14 March", "Friday" or "2 weeks"; None when there is none in the text."""
    if text.strip().isdecimal():
        return None  # a bare number is a count
    plain = _LEAD_IN.sub("", text.strip(), count=1)
    span = _span(_SPAN.fullmatch(plain))
    named = view.today + span if span else take_day(plain, view.today)
    return None if named is None else _checked(view, named)


def take_day(text: str, today: dt.date) -> dt.date | None:
    """The day to come that a text names, None for none; a weekday means the next one after today."""
    plain = text.strip().casefold().rstrip(".!?")
    if plain == "tomorrow":
        return today + dt.timedelta(days=1)
    try:
        named: dt.date = dates.parse(
            plain, default=dt.datetime.combine(today, dt.time()), dayfirst=True
        ).date()
    except (ValueError, OverflowError):
        return None
    if named > today or str(named.year) in text:
        return named
    if not any(letter.isdigit() for letter in plain):
        return named + dt.timedelta(days=WEEK_DAYS)  # "Friday", said on a Friday
    if named == today:
        return None  # a time of day gives today
    next_year: dt.date = named + relativedelta(years=1)
    return next_year


def _span(found: re.Match[str] | None) -> dt.timedelta | None:
    if found is None:
        return None
    figure, one, two, _, unit = found.groups()
    number = int(figure) if figure else 1 if one else 2 if two else 3
    return dt.timedelta(days=number * (WEEK_DAYS if unit.casefold() == "week" else 1))


def _checked(view: ClientView, named: dt.date) -> Turn:
    if not 0 < (named - view.today).days <= LONGEST_DAYS:
        return Turn((Wait({"for": "pause"}),), (Say("pause.too_long"),))
    return _until(named)


def _until(on: dt.date) -> Turn:
    return Turn((Pause(on, OWN_PAUSE), Wait(None)), (Say("paused", {"day": date_text(on)}),))


def resume(view: ClientView) -> Turn:
    """The end of a break she took herself; one that a warning began is the therapist's to end."""
    if view.pause is not None and view.pause.reason != OWN_PAUSE:
        return say("resume.not_yours", **contact_values(view))
    done, sets = view.done(view.today), view.sets(view.today)
    if not view.paused:
        return say("resume.not_paused", done=done, sets=sets)
    return Turn((Resume(),)) + say("resumed", done=done, sets=sets)
