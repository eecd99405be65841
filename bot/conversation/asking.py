"""The weekly questions in chat: one message that changes in place, so that no answer rings a bell."""

import datetime as dt

from bot.conversation import copy
from bot.conversation.counting import day_text
from bot.conversation.effects import KeepSymptom, Rewrite, Turn
from bot.conversation.incoming import Press
from bot.conversation.safety import warn_of_answer
from bot.conversation.speech import Button, Say
from bot.conversation.view import ClientView, contact_values, day_name
from bot.domain.check_in import EVERY, MOOD, MOST_QUESTIONS, QUESTIONS, label_of, warning

SKIP = "skip"


def question_rows(on: dt.date, key: str) -> tuple[tuple[Button, ...], ...]:
    """The answer buttons of a question, and *Skip*."""
    options = tuple(
        Button("check_in.option", f"ask:{day_text(on)}:{key}:{option.value}", {"label": option.label})
        for option in EVERY[key].options
    )
    return (options, (Button("check_in.skip", f"ask:{day_text(on)}:{key}:{SKIP}"),))


def asked(view: ClientView) -> tuple[str, ...]:
    """The questions of her plan and, when it is time for it, the one about her mood last; at most three."""
    version = view.in_force
    keys = version.prescription.check_in_questions if version else ()
    own = tuple(key for key in keys if key in QUESTIONS)[:MOST_QUESTIONS]
    if own and view.mood_due and view.crisis_line:
        return (*own[: MOST_QUESTIONS - 1], MOOD.key)
    return own


def first_question(language: str, keys: tuple[str, ...], on: dt.date) -> Say:
    """The message that opens a check-in; the question stands so far down that no lock screen shows it."""
    question = copy.text(language, f"check_in.{keys[0]}", {})
    return Say("check_in.intro", {"question": question}, question_rows(on, keys[0]))


def answer(view: ClientView, press: Press, on: dt.date, key: str, given: str) -> Turn:
    """Keep an answer, warn if it is a warning answer, and go on to the next question in the same message."""
    if key not in EVERY or (key == MOOD.key and not view.crisis_line):
        return Turn(says=(Say("press.old"),))
    values = {str(option.value): option.value for option in EVERY[key].options}
    if given != SKIP and given not in values:
        return Turn(says=(Say("press.unknown"),))
    value = None if given == SKIP else values[given]
    turn = Turn((KeepSymptom(on, key, value, f"{day_text(on)}:{key}"),))
    passed = (
        None if value is None else warning(key, value, view.baseline.get(key), view.last_answers.get(key))
    )
    if passed is not None and value is not None:
        turn += warn_of_answer(view, passed.sign, passed.level, f"{key}: {label_of(key, value)}")
    return turn + _go_on(view, press, on, key)


def _go_on(view: ClientView, press: Press, on: dt.date, key: str) -> Turn:
    keys = asked(view)
    place = keys.index(key) + 1 if key in keys else len(keys)
    following = keys[place] if place < len(keys) else None
    if following is None:
        say = Say("check_in.thanks", contact_values(view))
        if on != view.today:
            say = Say("check_in.old", {**contact_values(view), "day": day_name(on, view.today)})
    elif press.message_id is None:
        return Turn(says=(first_question(view.client.language, keys[place:], on),))
    else:
        values = {**contact_values(view), "crisis_line": view.crisis_line}
        say = Say(f"check_in.{following}", values, question_rows(on, following))
    return Turn((Rewrite(press.message_id, say),)) if press.message_id is not None else Turn(says=(say,))
