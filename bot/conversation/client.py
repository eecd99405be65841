"""A turn with a client: warning signs first, always; then what she pressed, asked or reported."""

import datetime as dt

from bot.conversation import (
    asking,
    choosing,
    counting,
    enrol,
    leaving,
    maintenance,
    mine,
    own_words,
    pausing,
    plan_shown,
    postponing,
    reach,
    safety,
    so_far,
)
from bot.conversation.effects import (
    AnswerTrial,
    AskCall,
    BookSets,
    FileNote,
    KeepSymptom,
    TellTherapist,
    Turn,
    Wait,
    say,
)
from bot.conversation.incoming import Body, Command, Media, Press, Reachable, Text, typed
from bot.conversation.speech import Say
from bot.conversation.view import ClientView, contact_values, opening_text
from bot.domain import other_language, reading, warning_signs
from bot.domain.check_in import known_signs
from bot.domain.levels import Level
from bot.domain.people import Role, Stage
from bot.domain.reading import Meaning, Reading, Wish

# Wishes that stand beside a count in one message; thanks or a yes beside one need no answer of their own.
USES_WORDS = {"pause"}  # what follows the command says until when
COMMANDS = reach.commands_of(Role.CLIENT)
MOST_COUNT_WORDS = 3
LONG_PART = 1500  # characters: a part of a text that came in several
BESIDE_A_COUNT: frozenset[Wish] = frozenset(
    {Wish.NO_MORE_TODAY, Wish.LATER, Wish.PAUSE, Wish.STOP, Wish.CALL_ME}
)
SAID = "_said"  # a figure from a message, kept apart from the week's answer to the same question
URGENT = (Level.EMERGENCY, Level.SAME_DAY)
UNREAD = ("unread", "unread.again", "numb.question")


def step(view: ClientView, body: Body) -> Turn:
    """What a message from a client leads to.

    1. Every typed text is read for warning signs before anything else, whatever was being waited for.
    2. A client who has not finished enrolling is led on; one who has left is told where help is.
    3. Buttons, commands, counts. 4. What is left over is filed as an unread note and she is told so.
    """
    text = None if _is_plain_command(body) else typed(body)
    hearing = (
        warning_signs.SILENCE
        if text is None
        else warning_signs.hear(text, view.rules, known=known_signs(view.baseline, asking.asked(view)))
    )
    warned = safety.warn(view, hearing, text or "")
    if view.client.stage is not Stage.ACTIVE:
        return warned + _not_active(view, body, text, warned=hearing.level is not None)
    match body:
        case Press():
            return pressed(view, body)
        case Command():
            return warned + command(view, body)
        case Media():
            return warned + _media(view, body, warned=hearing.level is not None)
        case Text():
            told = _text(view, body, hearing.level)
            if warned.says and hearing.level is None:
                # Our question says already that her words are kept.
                told = Turn(told.effects, tuple(one for one in told.says if one.copy not in UNREAD))
            return told + warned if hearing.level is None else warned + told
        case _:
            return warned


def _is_plain_command(body: Body) -> bool:
    """A command of ours and nothing else: there are no words of hers in it."""
    return isinstance(body, Command) and body.name in COMMANDS and not body.argument


def _not_active(view: ClientView, body: Body, text: str | None, warned: bool) -> Turn:
    if isinstance(body, Reachable):
        return Turn()
    if mine.is_asked(body):
        return mine.step(view, body)  # hers to ask whether or not she takes part
    match view.client.stage:
        case Stage.WITHDRAWN | Stage.DISCHARGED:
            turn = say(view.client.stage.value, **contact_values(view))
        case Stage.SETTING_TIME:
            turn = enrol.setting_time(view, body)
        case _:
            turn = enrol.consenting(view, body)
    if warned:
        return Turn(turn.effects)
    # A text that names her city is used; any other one may hold a worry and goes to the therapist.
    unused = text is not None and view.client.stage is Stage.CONSENTING
    return Turn((FileNote(text),)) + turn if unused and text else turn


def _text(view: ClientView, body: Text, level: Level | None) -> Turn:
    back = Turn()
    if body.edited:
        view, back = counting.take_back_message(view, body.message_id)
        if level is None:
            back += safety.changed(view, body.text)
    chosen = _awaited(view, body) if level is None and not body.edited else None
    return back + (chosen or _report(view, body, level))


def _awaited(view: ClientView, body: Text) -> Turn | None:
    """What the conversation waited for, if this is it; or a few words that stand for a button."""
    text, number = body.text, body.message_id
    match (view.waiting or {}).get("for"):
        case "time":
            found = choosing.take_time(view, text)
        case "zone":
            found = enrol.moved(view, text)
        case "pause":
            found = pausing.take_date(view, text)
        case "correction":
            found = mine.correction(view, text)
        case _:
            found = own_words.awaited(view, text, number) or maintenance.typed(view, text, number)
            found = found or own_words.which(view, text)
    if found is None and view.replied_on is not None and view.replied_on != view.today:
        found = own_words.for_day(view, text, view.replied_on, number)
    return found or own_words.aside(view, text)


def _report(view: ClientView, body: Text, level: Level | None) -> Turn:
    version = view.in_force
    sets = version.prescription.sets_a_day if version else 0
    read = reading.read(
        body.text,
        sets=max(sets, 1),
        done=view.done(view.today),
        today=view.today,
        language=view.client.language,
    )
    if level is None and other_language.is_foreign(body.text, view.client.language):
        return own_words.foreign(view, body.text)
    if level is None and _is_bare_answer(view, read):
        return own_words.bare(view, read.wants or Wish.YES)
    urgent = level in URGENT
    turn = _symptoms(view, read, body.message_id, aloud=level is None)
    stamp = f"e{int(view.said_at.timestamp())}" if body.edited else ""
    for place, report in enumerate(((read.sets,) if read.sets else ()) + read.more):
        key = counting.message_key(view, body.message_id, f"{place}{stamp}")
        if level is None and own_words.is_none_today(view, report, body.text):
            counted = own_words.none_today(view)
        else:
            counted = counting.count_read(view, report, key, read.corrects or body.edited)
        booked = tuple(effect for effect in counted.effects if isinstance(effect, BookSets))
        if level is None:
            turn += counted
        elif booked:
            # Beside a warning nothing is asked back, and after an urgent one nothing routine is said.
            turn += Turn(booked, () if urgent else counted.says)
    if level is None and view.held and not _is_bare_count(body.text):
        return _unread(view, body.text)
    if level is not None:
        long = len(body.text) > safety.ALERT_WORDS
        return turn + (Turn((FileNote(body.text),)) if long else Turn())
    if own_words.is_complaint(view, body.text):
        call = ask_call(view) if read.wants is Wish.CALL_ME else Turn()
        return turn + Turn((FileNote(body.text),)) + call + Turn(says=(own_words.fewer(),))
    if read.sets is not None or read.symptoms:
        turn += _rest(view, read)
        if read.wants is not None and read.wants in BESIDE_A_COUNT:
            turn += _wish(counting.after(view, turn), read.wants, body.text)
        return turn
    if read.wants is not None:
        # what else she wrote is kept too.
        kept = Turn() if read.understood else Turn((FileNote(read.remainder),))
        return kept + _wish(view, read.wants, body.text)
    return _unread(view, body.text)


def _is_bare_answer(view: ClientView, read: Reading) -> bool:
    """Whether it is a yes or a no and nothing else; what that answers is told by what stands in the chat.

    While an alert is open a person has to see it, since it may answer her.
    """
    answer = read.wants in {Wish.YES, Wish.NO} and read.understood and not read.symptoms
    count = read.sets is not None and read.sets.meaning is not Meaning.NONE
    return answer and not count and not view.held and not view.open_alerts


def _is_bare_count(text: str) -> bool:
    """A number and hardly a word beside it. While a warning stands, "all ok" must not become a count."""
    return any(letter.isdigit() for letter in text) and len(text.split()) <= MOST_COUNT_WORDS


def _symptoms(view: ClientView, read: Reading, message_id: int, aloud: bool) -> Turn:
    return Turn(
        tuple(
            KeepSymptom(
                view.today,
                f"{told.measure.value}{SAID}",
                told.value,
                counting.message_key(view, message_id, f"s{place}"),
            )
            for place, told in enumerate(read.symptoms)
        ),
        (Say("noted"),) if aloud and read.symptoms and read.sets is None else (),
    )


def _rest(view: ClientView, read: Reading) -> Turn:
    """What was left over: a small rest stays with the report, a substantial one goes to the therapist."""
    if read.understood:
        return Turn()
    return Turn((FileNote(read.remainder),), (Say("unread.rest", contact_values(view)),))


def _unread(view: ClientView, text: str) -> Turn:
    note = Turn((FileNote(text),))
    if view.held:
        # While a warning stands she should not wait for the digest.
        told = TellTherapist(Say("staff.wrote"), "wrote", in_hours=True)
        return note + Turn((told,)) + say("unread.paused", **contact_values(view))
    waiting = view.waiting or {}
    if waiting.get("for") == "numb" and waiting.get("times") == 1:
        return note + safety.ask_numb(view, times=2)  # perhaps she meant to answer: it is put once more
    if view.unread_lately and len(text) > LONG_PART:
        return note  # the next part of one long text: one answer is enough
    return note + say("unread.again" if view.unread_lately else "unread", **contact_values(view))


def _media(view: ClientView, body: Media, warned: bool) -> Turn:
    note = FileNote(f"[{body.kind}] {body.caption}".strip())
    return Turn((note,)) if warned else Turn((note,)) + say("media", **contact_values(view))


def _wish(view: ClientView, wish: Wish, text: str) -> Turn:
    match wish:
        case Wish.NO_MORE_TODAY:
            return counting.no_more(view, view.today)
        case Wish.LATER:
            return counting.later(view, named=postponing.named(view, text))
        case Wish.PAUSE:
            return pausing.wanted(view, text)
        case Wish.RESUME:
            return pausing.resume(view)
        case Wish.STOP:
            return leaving.ask()
        case Wish.HELP:
            return say("help", **contact_values(view))
        case Wish.CALL_ME:
            return ask_call(view)
        case Wish.THANKS:
            return say("thanks")
        case _:
            return _unread(view, text)


def ask_call(view: ClientView) -> Turn:
    """She would like to be rung up, not urgently: listed for the clinic's hours, with a time to expect it."""
    values = {**contact_values(view), "opening": opening_text(view.reader, view.now)}
    return Turn((AskCall(Say("staff.call_asked")),), (Say("call_me", values),))


def command(view: ClientView, body: Command) -> Turn:
    """A command; an argument we have no use for is filed like any text."""
    used = not body.argument or body.name in USES_WORDS or enrol.is_invite_code(body.argument)
    kept = Turn() if used else Turn((FileNote(f"/{body.name} {body.argument}"),))
    return kept + _command(view, body)


def _command(view: ClientView, body: Command) -> Turn:
    match body.name if body.name in COMMANDS else "":
        case "start" | "today":
            return Turn(says=(so_far.on_today(view),))
        case "help":
            return say("help", **contact_values(view))
        case "privacy":
            return mine.show(view)
        case "pause":
            return pausing.wanted(view, body.argument)
        case "resume":
            return pausing.resume(view)
        case "call":
            return ask_call(view)
        case "times":
            return choosing.show(view)
        case "week":
            return Turn(says=(so_far.in_the_week(view),))
        case "plan" | "exercises":
            return plan_shown.show(view)
        case "language":
            return say("language", **contact_values(view))
        case "stop":
            return leaving.ask()
        case "symptoms":
            keys = asking.asked(view)
            return Turn(
                says=(
                    asking.first_question(view.client.language, keys, view.today)
                    if keys
                    else Say("check_in.none"),
                )
            )
        case _:
            return say("command.unknown")


def pressed(view: ClientView, press: Press) -> Turn:
    """A button of hers. Its data are only believed as far as they can be checked."""
    match press.data.split(":"):
        case ["numb", ("yes" | "no") as given]:
            return safety.numb_answered(view, press, given)
        case ["reached", ("yes" | "no") as given, alert_id]:
            return safety.reached(view, press, given, alert_id)
        case ["sure", ("yes" | "no") as given]:
            return safety.answered(view, press, given)
        case ["pause", choice]:
            return counting.without_buttons(pausing.pressed(view, choice), press)
        case ["undo", *key]:
            return counting.undo(view, press, ":".join(key))
        case ["time", place] if place.isdecimal():
            return choosing.ask_time(view, int(place))
        case ["amount", chosen] if chosen in {"1", "2", "3", "evening"}:
            return choosing.amount(view, press, chosen)
        case ["trial", "done"]:
            return counting.without_buttons(Turn((AnswerTrial(),)), press)
        case ["undoextra", *key]:
            return plan_shown.undo_extra(view, press, ":".join(key))
        case ["maint", ("yes" | "no") as given]:
            return maintenance.answer_offer(view, press, given)
        case ["fill", "ask"]:
            return counting.without_buttons(say("yes.questions"), press)
        case ["fewer", "ask"]:
            return counting.without_buttons(Turn((Wait(None),), (own_words.fewer(),)), press)
        case ["call"]:
            return counting.without_buttons(ask_call(view), press)
        case ["zone", "change"]:
            return Turn((Wait({"for": "zone"}),), (Say("zone.which"),))
        case ["zone", "is", name]:
            return counting.without_buttons(enrol.move_to(view, name), press)
        case ["mine", *_]:
            return mine.step(view, press)
        case ["stop", "yes"]:
            return counting.without_buttons(leaving.stop(view), press)
        case ["stop", "no"]:
            return counting.without_buttons(Turn((Wait(None),)) + say("stop.kept"), press)
        case ["consent" | "zone", *_]:
            return say("press.old")
        case [verb, day, *rest]:
            on = counting.read_day(day, view.today)
            return say("press.old") if on is None else _pressed_for_day(view, press, verb, on, rest)
        case _:
            return say("press.unknown")


def _pressed_for_day(view: ClientView, press: Press, verb: str, on: dt.date, rest: list[str]) -> Turn:
    most = 2 * max(view.sets(on), 1)
    match [verb, *rest]:
        case ["done", ordinal] if ordinal.isdecimal():
            return counting.pressed_done(view, press, on, ordinal)
        case ["total", number] if number.isdecimal() and int(number) <= most:
            return counting.pressed_total(view, press, on, int(number))
        case ["more", number] if number.isdecimal() and int(number) <= most:
            return counting.pressed_more(view, press, on, int(number))
        case ["keep"]:
            return counting.pressed_keep(view, press, on)
        case ["later", *_]:
            return counting.ask_later(view, press, on)
        case ["wait", wait] if wait in {"15", "60", "evening", "feed"}:
            return counting.without_buttons(counting.later(view, wait), press)
        case ["nomore"]:
            return counting.without_buttons(counting.no_more(view, on), press)
        case ["week", days] if days.isdecimal() and int(days) <= maintenance.MOST:
            key = f"wk:{counting.day_text(on)}:{press.message_id or press.press_id}"
            return counting.without_buttons(maintenance.noted(view, on, int(days), key), press)
        case ["extra", letter]:
            return plan_shown.pressed_extra(view, press, on, letter)
        case ["ask", key, given]:
            return asking.answer(view, press, on, key, given)
        case _:
            return say("press.unknown")
