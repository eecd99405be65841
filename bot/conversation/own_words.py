"""What she types in place of a button: yes, no, "in all", "undo", "stop nagging", another language."""

import datetime as dt

from bot.conversation import counting, leaving, plan_shown, safety
from bot.conversation.effects import FileNote, Turn, Wait, say
from bot.conversation.incoming import Press
from bot.conversation.speech import Button, Say, Values
from bot.conversation.view import ClientView, contact_values, day_name
from bot.domain import asides, numbness, reading
from bot.domain.asides import Aside, Choice
from bot.domain.day_book import Meaning
from bot.domain.reading import Wish
from bot.domain.track import Said, What

TYPED = Press("", "", None)  # a typed answer stands for a press of no message of ours
BARE_WORDS = 3  # such as "oh no" or "yes I can"; more of them say something else beside it
YES_OR_NO = ("sure", "stop", "zero")  # what waits for one or the other
_BUTTONS = {"yes now": "yes", "no not now": "no", "not now": "no"}  # of the closing question, typed


def awaited(view: ClientView, text: str, message_id: int) -> Turn | None:
    """Her typed answer to a question of ours that has buttons; None when this is none."""
    waiting = view.waiting or {}
    said = _said(view, text) if waiting.get("for") in YES_OR_NO else None
    on = counting.read_day(str(waiting.get("day", "")), view.today)
    match (waiting.get("for"), said):
        case ("sure", "yes" | "no") if said is not None:
            return safety.answered(view, TYPED, said)
        case ("numb", _):
            return _numb(view, text, int(waiting.get("at", 0)))
        case ("stop", "yes"):
            return leaving.stop(view)
        case ("stop", "no"):
            return Turn((Wait(None),)) + say("stop.kept")
        case ("zero", "yes") if on is not None:
            key = counting.message_key(view, message_id, "z")
            return counting.book(view, on, Meaning.NONE, 0, key)
        case ("zero", "no") if on is not None:
            return counting.pressed_keep(view, TYPED, on)
        case ("one_or_all", _) if on is not None:
            return _more_or_all(view, text, on, int(waiting.get("value", 0)), message_id)
        case ("count", _) if on is not None and on != view.today:
            return for_day(view, text, on, message_id)
        case _:
            return None


def _said(view: ClientView, text: str) -> str | None:
    button = _BUTTONS.get(" ".join(text.casefold().replace(",", " ").split()))
    if button is not None and (view.waiting or {}).get("for") == "sure":
        return button
    wants = reading.read(text, sets=1, done=0, today=view.today, language=view.client.language).wants
    return {Wish.YES: "yes", Wish.NO: "no"}.get(wants) if wants is not None else None


def _numb(view: ClientView, text: str, asked_at: int) -> Turn | None:
    """Her answer about numbness in words; what may answer a newer nudge instead is asked back."""
    less = numbness.feels_less(text)
    if less is None and len(text.split()) <= BARE_WORDS:
        said = _said(view, text)
        less = None if said is None else said == "no"
    if less is None:
        return None
    newer = view.standing is not None and view.standing.at.timestamp() > asked_at
    if newer and not numbness.names_it(text):
        return Turn((FileNote(text),)) + safety.ask_numb(view)
    return safety.numb_answered(view, TYPED, "yes" if less else "no", text)


def _more_or_all(view: ClientView, text: str, on: dt.date, value: int, message_id: int) -> Turn | None:
    key = counting.message_key(view, message_id, "w")
    match asides.choice(text, value, view.client.language):
        case Choice.MORE:
            return counting.book(view, on, Meaning.ADDED, value, key)
        case Choice.ALL:
            return counting.book(view, on, Meaning.TOTAL, value, key)
        case _:
            return None


def for_day(view: ClientView, text: str, on: dt.date, message_id: int) -> Turn | None:
    """A number that answers for an earlier day, as if said on it; None when it names a day or no number."""
    if asides.names_today(text, view.client.language):
        return None
    plain = reading.read(text, sets=max(view.sets(on), 1), done=0, today=on, language=view.client.language)
    count = plain.sets
    if count is None or count.on != on or count.value is None or plain.more or not plain.understood:
        return None
    key = counting.message_key(view, message_id, "d")
    return counting.count_read(view, count, key, corrects=True)


def aside(view: ClientView, text: str) -> Turn | None:
    """*Undo* and *show me my plan*, typed; None for anything else."""
    match asides.asked(text, view.client.language):
        case Aside.UNDO:
            return _undo(view)
        case Aside.PLAN:
            return plan_shown.show(view)
        case Aside.WHO:
            return say("who", **contact_values(view))
        case Aside.HOW if view.versions and not view.held:
            return Turn((FileNote(text),)) + say("unread.plan", **contact_values(view))
        case Aside.SKIP:
            return _skip(view)
        case _:
            return None


def _skip(view: ClientView) -> Turn:
    """She passes what was asked; it is no report of anything."""
    standing = _unanswered(view)
    if standing is not None and standing.what is What.CHECK_IN:
        return say("skip.questions")
    if standing is not None and standing.what in {What.NUDGE, What.LATER}:
        return _of_nudge(view, standing, Wish.NO)
    return say("no.noted")


def which(view: ClientView, text: str) -> Turn | None:
    """A bare number while a question of the week is open: it may answer that, so it is asked back."""
    number = text.strip()
    if not view.questions_open or not number.isdecimal() or int(number) > 2 * max(view.sets(view.today), 1):
        return None
    total = f"total:{counting.day_text(view.today)}:{int(number)}"
    values: Values = {"number": int(number)}
    rows = ((Button("ask.button.sets", total, values), Button("ask.button.question", "fill:ask")),)
    return Turn(says=(Say("ask.which", values, rows),))


def _undo(view: ClientView) -> Turn:
    gone = {report.undoes for report in view.reports}
    standing = [r for r in view.reports if r.meaning is not Meaning.UNDONE and r.key not in gone]
    if not standing:
        return say("undo.nothing")
    return counting.undo(view, TYPED, standing[-1].key)  # reports come in the order they were said


def is_complaint(view: ClientView, text: str) -> bool:
    """Whether she says that she hears too much."""
    return asides.asked(text, view.client.language) is Aside.FEWER


def fewer() -> Say:
    """Ways to hear less, a tap each."""
    less = (
        Button("times.button.amount", "amount:1", {"number": 1}),
        Button("times.button.evening", "amount:evening"),
    )
    return Say("fewer.ask", rows=(less, (Button("fewer.button.pause", "pause:ask"),)))


def foreign(view: ClientView, text: str) -> Turn:
    """A message in a language we do not read: kept, said so, and no figure in it is guessed at."""
    rows: tuple[tuple[Button, ...], ...] = ()
    if any(letter.isdigit() for letter in text) and view.sets(view.today):
        rows = counting.number_buttons(view.today, view.sets(view.today))
    return Turn((FileNote(text),), (Say("unread.language", contact_values(view), rows),))


def bare(view: ClientView, wish: Wish) -> Turn:
    """*Yes*, *no* or *ok* while no question of ours waits: what stands in the chat is what it answers."""
    standing = _unanswered(view)
    match standing.what if standing is not None else None:
        case What.NUDGE | What.LATER if standing is not None:
            return _of_nudge(view, standing, wish)
        case What.ROUND_UP if standing is not None:
            wait = Wait({"for": "count", "day": counting.day_text(standing.on)})
            return Turn((wait,), (counting.ask_count(view, standing.on),))
        case What.CHECK_IN:
            return say("yes.questions")
        case _:
            return say("no.noted" if wish is Wish.NO else "thanks")


def _unanswered(view: ClientView) -> Said | None:
    """The newest message we sent unasked, if it is today's and no report has come since."""
    said = view.standing
    if said is None or said.on != view.today:
        return None
    return None if any(report.said_at >= said.at for report in view.reports) else said


def _of_nudge(view: ClientView, said: Said, wish: Wish) -> Turn:
    day = counting.day_text(said.on)
    ordinal = str(said.ordinal) if said.what is What.NUDGE else f"9{said.ordinal}"
    if wish is Wish.NO:
        press = Press("", f"later:{day}:{ordinal}", None)
        asked = counting.ask_later(view, press, said.on)
        no_more = (Button("nudge.button.no_more", f"nomore:{day}"),)
        return Turn(asked.effects, tuple(Say(s.copy, s.values, (*s.rows, no_more)) for s in asked.says))
    rows = (
        (
            Button("nudge.button.done", f"done:{day}:{ordinal}"),
            Button("nudge.button.later", f"later:{day}:{ordinal}"),
        ),
    )
    return Turn(says=(Say("yes.nudge", rows=rows),))


def is_none_today(view: ClientView, count: reading.Sets, text: str) -> bool:
    """Whether a count says of the whole of today that there is none."""
    none = count.meaning is reading.Meaning.NONE and count.on == view.today and not view.done(view.today)
    return none and view.sets(view.today) > 0 and asides.names_today(text, view.client.language)


def none_today(view: ClientView) -> Turn:
    """None today, said of the whole day: a report of none, and the day's nudges end."""
    turn = counting.no_more(view, view.today)
    values: Values = {"day": day_name(view.today, view.today)}
    return Turn(turn.effects, tuple(Say("closed_none", values, said.rows) for said in turn.says))
