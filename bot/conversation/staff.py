"""A turn with a therapist or a fallback contact: alerts, and the few things she asks for by command."""

import uuid
from collections import Counter
from collections.abc import Mapping

from bot.conversation import copy, open_alerts
from bot.conversation.effects import (
    CallMade,
    CloseAlert,
    Effect,
    MarkSeen,
    NoteNotReached,
    ReadNotes,
    ReopenAlert,
    ResumeClient,
    Rewrite,
    SendDigest,
    TakeButtons,
    Turn,
    Wait,
    say,
)
from bot.conversation.incoming import Body, Command, Media, Press, Text
from bot.conversation.speech import Button, Say, Values
from bot.conversation.staff_view import (
    OUTCOMES,
    AlertView,
    ClientLine,
    StaffView,
    alert_rows,
    outcome_rows,
)
from bot.conversation.view import DAY_NAMES, clock_text, date_text
from bot.domain.alerts import NEEDS_WORDS, Outcome
from bot.domain.contacts import zone_of
from bot.domain.levels import Level
from bot.domain.people import Client, Role

SHORTEST_REVIEW = 8  # characters; "ok" does not say who reviewed her
STEPS_SHOWN, LONGEST_STEP = 14, 80  # of an alert's history, in one message
LONGEST_WORDS = 2200  # of a client's words in one message, well below the platform's limit


def alert_id_of(body: Body, waiting: Mapping[str, str | int] | None) -> uuid.UUID | None:
    """Which alert a press, or the line we wait for, is about."""
    text = ""
    if isinstance(body, Press):
        text = body.data.rpartition(":")[2]
    elif isinstance(body, Text) and waiting is not None:
        text = str(waiting.get("alert", ""))
    try:
        return uuid.UUID(hex=text)
    except ValueError:
        return None


def caller_of(body: Body) -> uuid.UUID | None:
    """Which client a *rung her* button is about."""
    verb, _, name = body.data.partition(":") if isinstance(body, Press) else ("", "", "")
    try:
        return uuid.UUID(hex=name) if verb == "called" else None
    except ValueError:
        return None


def step(view: StaffView, body: Body) -> Turn:
    """What a message from a therapist or fallback contact leads to."""
    # A press or a command ends the wait for a line, so that what is typed later is not taken for it.
    over = Turn() if view.waiting is None else Turn((Wait(None),))
    match body:
        case Press():
            return over + _pressed(view, body)
        case Command():
            return over + _command(view, body)
        case Text(text=text):
            return _text(view, text.strip())
        case Media():
            return say("staff.media")
        case _:
            return Turn()


def _pressed(view: StaffView, press: Press) -> Turn:
    shown = view.alert
    taken: tuple[Effect, ...] = () if press.message_id is None else (TakeButtons(press.message_id),)
    if caller_of(press) is not None and view.clients:
        client = view.clients[0].client
        return Turn((CallMade(client.id), *taken)) + say("staff.call_made", client=view.label(client))
    if shown is None:
        return say("staff.old_button")
    match press.data.split(":")[:-1]:
        case ["words"] if press.message_id is not None:
            # In place of the alert itself: no second notification comes of her words.
            return Turn((Rewrite(press.message_id, _words(view, shown)),))
        case ["seen"] if shown.alert.closed_at is None:
            values: Values = {"client": view.label(shown.client), "clock": _clock(view)}
            asked = Say("alert.seen", values, outcome_rows(shown.alert))
            return Turn((MarkSeen(shown.alert.id), *taken), (asked,))
        case ["out", outcome] if shown.alert.closed_at is None and outcome in OUTCOMES:
            # Where a line is still owed the buttons stay until it has come.
            gone = () if Outcome(outcome) in NEEDS_WORDS else taken
            return Turn(gone) + _outcome(view, shown, Outcome(outcome))
        case ["show"]:
            return open_alerts.show(view, shown)
        case ["reopen"] if shown.alert.closed_at is not None:
            reopened = Say("alert.reopened", {"client": view.label(shown.client)}, outcome_rows(shown.alert))
            return Turn((ReopenAlert(shown.alert.id), *taken), (reopened,))
        case ["resume"]:
            return Turn(taken) + _ask_review(view, shown)
        case ["keep"]:
            return Turn(taken) + say("alert.kept", client=view.label(shown.client))
        case ["seen"] | ["out", _]:
            return Turn(taken) + _closed_already(view, shown)
        case _:
            return say("staff.old_button")


def _clock(view: StaffView) -> str:
    return clock_text(view.now, zone_of(view.clinic.card))


def _closed_already(view: StaffView, shown: AlertView) -> Turn:
    outcome = shown.alert.outcome or Outcome.SPOKE
    named = copy.text(view.language, f"alert.outcome.{outcome.value}", {})
    return say("alert.closed_already", client=view.label(shown.client), outcome=named)


def _words(view: StaffView, shown: AlertView) -> Say:
    lines = []
    for at, kind, note in shown.history:
        what = copy.text(view.language, f"alert.event.{kind}", {"note": note})
        lines.append(copy.text(view.language, "alert.event.line", {"when": view.when(at), "what": what}))
    values = {
        "client": view.label(shown.client),
        "when": view.when(shown.alert.raised_at),
        "signs": "; ".join(shown.titles),
        "words": shown.alert.words[:LONGEST_WORDS],
        "history": _shortened(lines),
    }
    rows = outcome_rows(shown.alert)[:2] if shown.alert.seen_at else alert_rows(shown.alert)
    if shown.alert.closed_at is not None:
        rows = ()
    return Say("alert.words", values, rows, keep_private=True)


def _shortened(lines: list[str]) -> str:
    """The first steps and the latest, so that the whole message fits the platform."""
    short = [line if len(line) <= LONGEST_STEP else f"{line[:LONGEST_STEP]} …" for line in lines]
    left = len(short) - STEPS_SHOWN
    if left > 0:
        short = [*short[:2], "…", *short[2 + left :]]
    return "\n".join(short)


def _outcome(view: StaffView, shown: AlertView, outcome: Outcome) -> Turn:
    client = view.label(shown.client)
    seen: tuple[Effect, ...] = () if shown.alert.seen_at else (MarkSeen(shown.alert.id),)
    if outcome is Outcome.NOT_REACHED:
        return Turn((*seen, NoteNotReached(shown.alert.id))) + say("alert.not_reached", client=client)
    if outcome in NEEDS_WORDS:
        wait = Wait({"for": "outcome", "outcome": outcome.value, "alert": shown.alert.id.hex})
        return Turn((*seen, wait)) + say(f"alert.ask.{outcome.value}", client=client)
    return Turn(seen) + _close(view, shown, outcome, "")


def _close(view: StaffView, shown: AlertView, outcome: Outcome, note: str) -> Turn:
    client = view.label(shown.client)
    named = copy.text(view.language, f"alert.outcome.{outcome.value}", {})
    turn = Turn((CloseAlert(shown.alert.id, outcome, note), Wait(None)))
    closed = {"client": client, "outcome": f"{named}: {note}" if note else named}
    again = ((Button("alert.button.reopen", f"reopen:{shown.alert.id.hex}"),),)
    turn += Turn(says=(Say("alert.closed", closed, again),))
    if not shown.client_paused:
        return turn
    if not shown.may_resume:
        return turn + say("alert.stays_paused", client=client)
    buttons = (
        Button("alert.button.resume", f"resume:{shown.alert.id.hex}"),
        Button("alert.button.keep", f"keep:{shown.alert.id.hex}"),
    )
    return turn + Turn(says=(Say("alert.ask_resume", {"client": client}, (buttons,)),))


def _ask_review(view: StaffView, shown: AlertView) -> Turn:
    """After an emergency a person has to have reviewed her; otherwise the programme resumes at once."""
    client = view.label(shown.client)
    if not shown.may_resume:
        return say("alert.not_yours", client=client)
    if not shown.client_paused:
        return say("staff.not_paused", client=client)
    if shown.alert.closed_at is None:
        return Turn(says=(Say("alert.close_first", {"client": client}, alert_rows(shown.alert)),))
    if shown.alert.level not in {Level.EMERGENCY, Level.SAME_DAY}:
        return Turn((ResumeClient(shown.client.id, ""),)) + _resumed(view, shown.client)
    return Turn((Wait({"for": "review", "alert": shown.alert.id.hex}),)) + say(
        "alert.ask_review", client=client
    )


def _resumed(view: StaffView, client: Client, note: str = "") -> Turn:
    """The echo: what stands on record as the reason."""
    on_record = copy.text(view.language, "alert.resumed.note", {"note": note}) if note else ""
    return say("alert.resumed", client=view.label(client), note=on_record)


def _text(view: StaffView, text: str) -> Turn:
    waiting, shown = view.waiting, view.alert
    if waiting is None or shown is None or not text:
        return say("staff.text")
    match waiting.get("for"):
        case "outcome" if shown.alert.closed_at is None:
            return _close(view, shown, Outcome(str(waiting["outcome"])), text)
        case "review" if shown.alert.closed_at is None:
            return Turn((Wait(None),)) + _ask_review(view, shown)
        case "review" if len(text) < SHORTEST_REVIEW:
            return say("alert.review_short", client=view.label(shown.client))
        case "review":
            note = f"{text} ({view.staff.code})"
            return Turn((ResumeClient(shown.client.id, note), Wait(None))) + _resumed(
                view, shown.client, note
            )
        case _:
            return Turn((Wait(None),)) + _closed_already(view, shown)


def _command(view: StaffView, command: Command) -> Turn:
    day = DAY_NAMES[view.clinic.digest_day]
    clock = f"{view.clinic.digest_at:%H:%M}"
    therapist = view.staff.role is Role.THERAPIST
    match command.name:
        case "alerts":
            return open_alerts.listed(view)
        case "reviewed" if therapist:
            return open_alerts.reviewed(view, command.argument)
        case "start" | "help":
            key = "staff.help" if therapist else "staff.help.fallback"
            return say(key, digest_day=day, digest_clock=clock)
        case "privacy":
            return say("staff.privacy")
        case "digest" if therapist:
            return Turn((SendDigest(),))
        case "notes" if therapist:
            return _notes(view, command.argument)
        case "resume" if therapist:
            return _resume(view, command.argument)
        case _:
            return say("command.unknown")


def _find(view: StaffView, code: str) -> ClientLine | None:
    wanted = code.strip().casefold()
    return next((line for line in view.clients if line.client.code.casefold() == wanted), None)


def _notes(view: StaffView, code: str) -> Turn:
    line = _find(view, code)
    if not code:
        waiting = Counter(view.label(note.client) for note in view.notes)
        lines = "\n".join(f"{client}: {count}" for client, count in sorted(waiting.items()))
        return say("staff.notes.which", lines=lines) if lines else say("staff.notes.nobody")
    if line is None:
        return say("staff.no_client", code=code)
    client = view.label(line.client)
    notes = [note for note in view.notes if note.client.id == line.client.id]
    if not notes:
        return say("staff.notes.none", client=client)
    says = tuple(
        Say(
            "staff.notes",
            {"client": client, "when": view.when(note.said_at), "text": note.text[:LONGEST_WORDS]},
            keep_private=True,
        )
        for note in notes[:10]
    )
    return Turn((ReadNotes(tuple(note.id for note in notes[:10])),), says)


def _resume(view: StaffView, code: str) -> Turn:
    line = _find(view, code)
    if line is None:
        return say("staff.no_client", code=code or "?")
    client = view.label(line.client)
    if not line.paused:
        return say("staff.not_paused", client=client)
    if line.until is not None:
        return say("staff.own_break", client=client, day=date_text(line.until))
    if view.alert is not None and view.alert.client.id == line.client.id:
        return _ask_review(view, view.alert)
    return Turn((ResumeClient(line.client.id, ""),)) + _resumed(view, line.client)
