"""Once a week is enough: the offer she takes or leaves, and the one question a week that follows."""

import datetime as dt

from bot.conversation.counting import day_text, without_buttons
from bot.conversation.effects import AnswerOffer, KeepSymptom, Turn
from bot.conversation.incoming import Press
from bot.conversation.speech import Button, Say
from bot.conversation.view import ClientView, contact_values
from bot.domain.track import What

DAYS_DONE = "days_done"  # the question's name among her answers
MOST = 7


def weekly(on: dt.date) -> Say:
    """The message of the week."""
    day = day_text(on)
    buttons = [Button("count.button", f"week:{day}:{n}", {"number": n}) for n in range(MOST + 1)]
    return Say("maintenance.week", rows=(tuple(buttons[:4]), tuple(buttons[4:])))


def answer_offer(view: ClientView, press: Press, choice: str) -> Turn:
    """Her answer to the offer; an old button changes nothing."""
    if not view.offered:
        return without_buttons(Turn(says=(Say("press.old"),)), press)
    yes = choice == "yes"
    said = Say("maintenance.yes" if yes else "maintenance.no", contact_values(view))
    return without_buttons(Turn((AnswerOffer(yes),), (said,)), press)


def noted(view: ClientView, on: dt.date, days: int, key: str) -> Turn:
    """On how many days of a week she did some."""
    keep = KeepSymptom(on, DAYS_DONE, days, key)
    return Turn((keep,), (Say("maintenance.noted", {"number": days, **contact_values(view)}),))


def typed(view: ClientView, text: str, message_id: int) -> Turn | None:
    """A bare number, while the question of the week is the newest message; None for anything else."""
    asked = view.standing
    if asked is None or asked.what is not What.MAINTENANCE or not text.strip().isdecimal():
        return None
    days = int(text)
    return noted(view, asked.on, days, f"{view.chat_ref}.{message_id}.wk") if days <= MOST else None
