"""What follows a warning sign: advice first, the alert, and one closed question where we are unsure."""

import datetime as dt

from bot.conversation import copy
from bot.conversation.effects import (
    AddToAlert,
    Effect,
    FileNote,
    Pause,
    RaiseAlert,
    ReachedNobody,
    TakeButtons,
    Turn,
    Wait,
    say,
)
from bot.conversation.incoming import Press
from bot.conversation.speech import Button, Say, Values
from bot.conversation.view import ClientView, contact_values, opening_text
from bot.domain.alerts import Alert
from bot.domain.contacts import is_open, next_opening
from bot.domain.delivery import Kind
from bot.domain.levels import Level
from bot.domain.numbness import GRAVE_SIGN, cannot_feel
from bot.domain.warning_signs import Handling, Hearing, Route, Sign, Stops

PAUSED_BY_WARNING = "warning"
SAME_ADVICE = dt.timedelta(minutes=10)
CHANGED_WITHIN = dt.timedelta(hours=1)  # an edit so soon is about the message that was heard
HOLDS_FOR = dt.timedelta(hours=12)  # an order given so lately is not followed by a lower one
ALERT_WORDS = 1200  # characters of a long message that an alert shows; the whole is filed as a note


def seen_when(view: ClientView, level: Level) -> str:
    """A sentence that says when a person will see it."""
    language = view.client.language
    if level is Level.NEXT_REVIEW:
        return copy.text(language, "advice.seen_review", {})
    if view.on_call and level is not Level.THERAPIST:
        return copy.text(language, "advice.seen_on_call", {})
    if view.away_until is not None:
        day = f"{view.away_until.day} {view.away_until:%B}"
        return copy.text(language, "advice.seen_away", {"day": day})
    is_clinic_open = is_open(view.card, view.now)
    if level is Level.THERAPIST:
        if is_open(view.reader, view.now):
            return copy.text(language, "advice.seen_open", {})
        key = "advice.seen_later" if is_clinic_open else "advice.seen_closed"
        return copy.text(language, key, {"opening": opening_text(view.reader, view.now)})
    told_at = next_opening(view.card, view.now)
    # What is urgent waits for the clinic and not for one person: somebody else is told beside her.
    hers = view.solo or is_open(view.reader, told_at)
    if is_clinic_open:
        return copy.text(language, "advice.seen_open" if hers else "advice.seen_open_colleague", {})
    key = "advice.seen_closed" if hers else "advice.seen_closed_colleague"
    return copy.text(language, key, {"opening": opening_text(view.card, view.now)})


def ring_clinic(view: ClientView) -> str:
    """The clinic's own number, and from when: what can wait does not go to a night line."""
    if is_open(view.card, view.now):
        return view.card.phone
    return f"{view.card.phone}, from {opening_text(view.card, view.now)}"


def advice(view: ClientView, level: Level, route: Route, sign_id: str = "", pauses: bool = False) -> Say:
    """The advice of a sign or its route: whom to call stands first, nothing is named on a lock screen."""
    values: Values = {
        **contact_values(view),
        "seen_when": seen_when(view, level),
        "ring_clinic": ring_clinic(view),
        "stops": copy.text(view.client.language, "advice.stops", {}) if pauses else "",
    }
    key = f"advice.sign.{sign_id}"
    if level is Level.NEXT_REVIEW:
        key = "advice.next_review"
    elif level is Level.EMERGENCY or not copy.has(view.client.language, key):
        key = f"advice.{route.value}"
    if key in view.own_advice:
        text = view.own_advice[key].format(**values)
        return Say("advice.own", {"text": text}, kind=Kind.ADVICE, keep_private=True)
    return Say(key, values, kind=Kind.ADVICE, keep_private=True)


def holding(view: ClientView, level: Level, sign_id: str = "") -> Alert | None:
    """An open alert more urgent than this, raised lately: what she was told then still holds."""
    if level is not Level.NEXT_REVIEW and copy.has(view.client.language, f"advice.sign.{sign_id}"):
        return None
    higher = [
        alert
        for alert in view.open_alerts
        if alert.level.rank < level.rank
        and alert.level in {Level.EMERGENCY, Level.SAME_DAY}
        and view.now - alert.raised_at < HOLDS_FOR
    ]
    return min(higher, key=lambda alert: alert.level.rank, default=None)


def warn(view: ClientView, hearing: Hearing, words: str) -> Turn:
    """Advice and alert for what was heard in a message.

    1. The advice of the most urgent sign. 2. The alert with every sign. 3. If we are unsure, one closed
    question after the advice, never instead of it.
    """
    asked = Turn()
    if hearing.level in {None, Level.NEXT_REVIEW} and cannot_feel(words):
        asked = ask_numb(view)
    if hearing.level is None:
        return asked
    top = next(heard for heard in hearing.heard if heard.level is hearing.level)
    signs = [view.rules.signs[heard.sign] for heard in hearing.heard]
    turn = _pass_on(view, hearing.level, top.route, top.sign, signs, words)
    if hearing.sure or hearing.level is Level.NEXT_REVIEW:
        return turn + asked
    question = Say(
        "advice.unsure_question",
        rows=((Button("button.yes_now", "sure:yes"), Button("button.not_now", "sure:no")),),
        kind=Kind.ADVICE,
    )
    return turn + Turn((Wait({"for": "sure"}),), (question,))


def ask_numb(view: ClientView, times: int = 1) -> Turn:
    """The one question about numbness, which she may answer by a tap or in words. times: asked, with this."""
    rows = ((Button("numb.button.feel", "numb:no"), Button("numb.button.numb", "numb:yes")),)
    question = Say("numb.question", contact_values(view), rows, kind=Kind.ADVICE, keep_private=True)
    return Turn((Wait({"for": "numb", "at": int(view.now.timestamp()), "times": times}),), (question,))


def numb_answered(view: ClientView, press: Press, answer: str, typed: str | None = None) -> Turn:
    """Her answer about numbness: numb is an emergency; the rest is kept with what stands open, or filed."""
    taken: tuple[Effect, ...] = (Wait(None),)
    if press.message_id is not None:
        taken += (TakeButtons(press.message_id),)
    label = "numb.button.numb" if answer == "yes" else "numb.button.feel"
    said = copy.text(view.client.language, label, {}) if typed is None else typed
    if answer == "yes":
        return Turn(taken) + warn_of_answer(view, GRAVE_SIGN, Level.EMERGENCY, said)
    kept: Effect = AddToAlert(view.open_alerts[-1].id, said) if view.open_alerts else FileNote(said)
    return Turn((kept, *taken), (Say("numb.no", contact_values(view), kind=Kind.ADVICE),))


def warn_of_answer(view: ClientView, sign_id: str, level: Level, words: str) -> Turn:
    """Advice and alert for a check-in answer that is a warning."""
    sign = view.rules.signs[sign_id]
    route = Route.CLINICIAN_TODAY if level is Level.SAME_DAY else sign.route
    turn = _pass_on(view, level, route, sign.id, [sign], words, joins=True)
    told = [alert for alert in view.open_alerts if alert.level.rank <= level.rank]
    again = bool(told) and view.now - told[-1].raised_at < SAME_ADVICE and level is Level.THERAPIST
    # Two worse answers in a row: the alert holds both, the same advice need not come twice.
    return Turn(turn.effects) if again else turn


def _pass_on(
    view: ClientView,
    level: Level,
    route: Route,
    top_sign: str,
    signs: list[Sign],
    words: str,
    joins: bool = False,
) -> Turn:
    gravest = max((sign.handling for sign in signs), key=list(Handling).index)
    stops = level is Level.SAME_DAY and any(sign.stops is Stops.ALL for sign in signs)
    pauses = level is Level.EMERGENCY or stops or any(sign.pauses_nudges for sign in signs)
    alert = RaiseAlert(
        level=level,
        handling=gravest.value,
        signs=tuple(dict.fromkeys(sign.id for sign in signs)),
        words=words[:ALERT_WORDS],
        pauses=pauses,
        joins=joins,
    )
    effects: tuple[Effect, ...] = (alert,)
    if pauses:
        effects += (Pause(None, PAUSED_BY_WARNING),)
    held = holding(view, level, top_sign)
    if held is not None:
        said = Say(
            f"advice.holds.{held.level.value}", contact_values(view), kind=Kind.ADVICE, keep_private=True
        )
        return Turn(effects, (said,))
    return Turn(effects, (advice(view, level, route, top_sign, pauses=pauses),))


def changed(view: ClientView, text: str) -> Turn:
    """A message she has changed since it was heard as a warning: the history keeps what it says now."""
    lately = [alert for alert in view.open_alerts if view.now - alert.raised_at < CHANGED_WITHIN]
    if not lately:
        return Turn()
    return Turn((AddToAlert(lately[-1].id, text[:ALERT_WORDS], "changed"),))


def follow_up(alert: Alert, values: Values) -> Say:
    """Later on: did she reach someone; or, where nobody has decided yet, whom to ring."""
    if alert.level is Level.THERAPIST:
        return Say("follow_up.undecided", values, kind=Kind.ADVICE, keep_private=True)
    rows = (
        (
            Button("follow_up.button.yes", f"reached:yes:{alert.id.hex}"),
            Button("follow_up.button.no", f"reached:no:{alert.id.hex}"),
        ),
    )
    return Say("follow_up.ask", values, rows, kind=Kind.ADVICE, keep_private=True)


def reached(view: ClientView, press: Press, given: str, alert_id: str) -> Turn:
    """Her answer goes into the history; where she reached nobody, those who answer are told at once."""
    alert = next((one for one in view.open_alerts if one.id.hex == alert_id), None)
    if alert is None:
        return say("advice.unsure_old", **contact_values(view))
    yes = given == "yes"
    note = copy.text(view.client.language, "follow_up.button.yes" if yes else "follow_up.button.no", {})
    effects: tuple[Effect, ...] = (AddToAlert(alert.id, note, "reached"),)
    if not yes:
        effects += (ReachedNobody(alert.id),)
    if press.message_id is not None:
        effects += (TakeButtons(press.message_id),)
    key = "follow_up.yes" if yes else f"follow_up.no.{alert.level.value}"
    return Turn(effects, (Say(key, contact_values(view), kind=Kind.ADVICE),))


def answered(view: ClientView, press: Press, answer: str) -> Turn:
    """Her answer to the closed question goes into the alert's history; it never removes the alert."""
    told = [alert for alert in view.open_alerts if alert.level is not Level.NEXT_REVIEW]
    latest: Alert | None = told[-1] if told else None
    if latest is None:
        return say("advice.unsure_old", **contact_values(view))
    yes = answer == "yes"
    note = copy.text(view.client.language, "button.yes_now" if yes else "button.not_now", {})
    effects: tuple[Effect, ...] = (AddToAlert(latest.id, note), Wait(None))
    if press.message_id is not None:
        effects += (TakeButtons(press.message_id),)
    sentence = Say(
        "advice.unsure_yes" if yes else "advice.unsure_no",
        contact_values(view),
        kind=Kind.ADVICE,
    )
    return Turn(effects, (sentence,))
