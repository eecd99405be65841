"""A turn with a client: warning signs first, always; then what she pressed, asked or reported."""

import datetime as dt

from bot.conversation import asking, copy, counting, enrol, safety
from bot.conversation.effects import (
    BookSets,
    FileNote,
    KeepSymptom,
    Pause,
    Resume,
    SetStage,
    TellTherapist,
    Turn,
    Wait,
    say,
)
from bot.conversation.effects import GiveConsent as Consent
from bot.conversation.incoming import Body, Command, Media, Press, Reachable, Text, typed
from bot.conversation.speech import Button, Say
from bot.conversation.view import ClientView, contact_values
from bot.domain import reading, warning_signs
from bot.domain.check_in import known_signs
from bot.domain.levels import Level
from bot.domain.people import Stage
from bot.domain.reading import Reading, Wish

PAUSES_DAYS = (1, 3, 7)
OWN_PAUSE = "own"
URGENT = (Level.EMERGENCY, Level.SAME_DAY)


def step(view: ClientView, body: Body) -> Turn:
    """What a message from a client leads to.

    1. Every typed text is read for warning signs before anything else, whatever was being waited for.
    2. A client who has not finished enrolling is led on; one who has left is told where help is.
    3. Buttons, commands, counts. 4. What is left over is filed as an unread note and she is told so.
    """
    text = typed(body)
    hearing = (
        warning_signs.SILENCE
        if text is None
        else warning_signs.hear(text, view.rules, known=known_signs(view.baseline))
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
            return warned + _text(view, body, hearing.level)
        case _:
            return warned


def _not_active(view: ClientView, body: Body, text: str | None, warned: bool) -> Turn:
    if isinstance(body, Reachable):
        return Turn()
    match view.client.stage:
        case Stage.WITHDRAWN:
            turn = say("withdrawn", **contact_values(view))
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
    version = view.in_force
    sets = version.prescription.sets_a_day if version else 0
    read = reading.read(
        body.text,
        sets=max(sets, 1),
        done=view.done(view.today),
        today=view.today,
        language=view.client.language,
    )
    urgent = level in URGENT
    turn = _symptoms(view, read)
    for report in ((read.sets,) if read.sets else ()) + read.more:
        counted = counting.count_read(view, report, read.corrects)
        booked = tuple(effect for effect in counted.effects if isinstance(effect, BookSets))
        if level is None:
            turn += counted
        elif booked:
            # Beside a warning nothing is asked back, and after an urgent one nothing routine is said.
            turn += Turn(booked, () if urgent else counted.says)
    if level is not None:
        long = len(body.text) > safety.ALERT_WORDS
        return turn + (Turn((FileNote(body.text),)) if long else Turn())
    if read.sets is not None or read.symptoms:
        return turn + _rest(view, read)
    if read.wants is not None:
        return _wish(view, read.wants, body.text)
    return _unread(view, body.text)


def _symptoms(view: ClientView, read: Reading) -> Turn:
    return Turn(
        tuple(KeepSymptom(view.today, str(told.measure), told.value, None) for told in read.symptoms),
        (Say("noted"),) if read.symptoms and read.sets is None else (),
    )


def _rest(view: ClientView, read: Reading) -> Turn:
    """What was left over: a small rest stays with the report, a substantial one goes to the therapist."""
    if read.understood:
        return Turn()
    return Turn((FileNote(read.remainder),), (Say("unread.rest", contact_values(view)),))


def _unread(view: ClientView, text: str) -> Turn:
    note = Turn((FileNote(text),))
    # Three parts of one long text get one answer, not three.
    return note if view.unread_lately else note + say("unread", **contact_values(view))


def _media(view: ClientView, body: Media, warned: bool) -> Turn:
    note = FileNote(f"[{body.kind}] {body.caption}".strip())
    return Turn((note,)) if warned else Turn((note,)) + say("media", **contact_values(view))


def _wish(view: ClientView, wish: Wish, text: str) -> Turn:
    match wish:
        case Wish.NO_MORE_TODAY:
            return counting.no_more(view, view.today)
        case Wish.LATER:
            return counting.later(view)
        case Wish.PAUSE:
            return ask_pause()
        case Wish.RESUME:
            return resume(view)
        case Wish.STOP:
            return ask_stop()
        case Wish.HELP:
            return say("help", **contact_values(view))
        case Wish.CALL_ME:
            return Turn((FileNote(text),)) + say("call_me", **contact_values(view))
        case Wish.THANKS:
            return say("thanks")
        case _:
            return _unread(view, text)


def ask_pause() -> Turn:
    """How long a break."""
    buttons = tuple(
        Button("pause.button.one" if days == 1 else "pause.button", f"pause:{days}", {"days": days})
        for days in PAUSES_DAYS
    )
    return Turn(says=(Say("pause.ask", rows=(buttons,)),))


def ask_stop() -> Turn:
    """Whether she means to leave for good."""
    buttons = (Button("stop.button.yes", "stop:yes"), Button("stop.button.no", "stop:no"))
    return Turn(says=(Say("stop.ask", rows=(buttons,)),))


def resume(view: ClientView) -> Turn:
    """The end of a break she took herself; one that a warning began is the therapist's to end."""
    if view.pause is not None and view.pause.reason != OWN_PAUSE:
        return say("resume.not_yours", **contact_values(view))
    values = {"done": view.done(view.today), "sets": view.sets(view.today)}
    if not view.paused:
        return Turn(says=(Say("resume.not_paused", values),))
    return Turn((Resume(),), (Say("resumed", values),))


def today(view: ClientView) -> Say:
    """Where she is today."""
    if not view.versions:
        return Say("today.no_plan", contact_values(view))
    pause = ""
    if view.paused and view.pause is not None:
        until = view.pause.until
        pause = "today.paused_open" if until is None else "today.paused"
    values: dict[str, str | int] = {
        "done": view.done(view.today),
        "sets": view.sets(view.today),
        "times": enrol.times_text(view),
        "pause": "",
    }
    if pause:
        until = view.pause.until if view.pause else None
        day = f"{until.day} {until:%B}" if until else ""
        values["pause"] = copy.text(view.client.language, pause, {"day": day})
    return Say("today" if view.sets(view.today) else "today.free", values)


def command(view: ClientView, body: Command) -> Turn:
    """A command; an argument we have no use for is filed like any text."""
    match body.name:
        case "start" | "today":
            return Turn(says=(today(view),))
        case "help":
            return say("help", **contact_values(view))
        case "privacy":
            return say("privacy", **contact_values(view))
        case "pause":
            return ask_pause()
        case "resume":
            return resume(view)
        case "stop":
            return ask_stop()
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
            note = Turn((FileNote(f"/{body.name} {body.argument}".strip()),)) if body.argument else Turn()
            return note + say("command.unknown")


def pressed(view: ClientView, press: Press) -> Turn:
    """A button of hers. Its data are only believed as far as they can be checked."""
    match press.data.split(":"):
        case ["sure", ("yes" | "no") as given]:
            return safety.answered(view, press, given)
        case ["pause", days] if days in {str(number) for number in PAUSES_DAYS}:
            until = view.today + dt.timedelta(days=int(days))
            turn = Turn((Pause(until, OWN_PAUSE),), (Say("paused", {"day": f"{until.day} {until:%B}"}),))
            return counting.without_buttons(turn, press)
        case ["stop", "yes"]:
            return counting.without_buttons(_stop(view), press)
        case ["stop", "no"]:
            return counting.without_buttons(say("stop.kept"), press)
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
        case ["later"]:
            return counting.without_buttons(counting.later(view), press)
        case ["nomore"]:
            return counting.without_buttons(counting.no_more(view, on), press)
        case ["ask", key, given]:
            return asking.answer(view, press, on, key, given)
        case _:
            return say("press.unknown")


def _stop(view: ClientView) -> Turn:
    told = TellTherapist(Say("staff.client_left"), "left")
    effects = (Consent(enrol.CONSENT_TEXT, given=False), SetStage(Stage.WITHDRAWN), Wait(None), told)
    return Turn(effects, (Say("stop.done", contact_values(view)),))
