"""From the invite to the first nudge: consent, then the local time."""

import re

from bot.conversation import copy
from bot.conversation.effects import Effect, GiveConsent, SetStage, SetZone, TakeButtons, Turn, Wait
from bot.conversation.incoming import Body, Press, Text
from bot.conversation.speech import Button, Say
from bot.conversation.view import DAY_NAMES, ClientView, clock_text, contact_values
from bot.domain import local_time
from bot.domain.people import Stage

CONSENT_TEXT = "2026-11"  # the version of `consent.ask`; a change of the text needs a new one
ZONES_OFFERED = 3
CODE_LETTERS = 32  # of an invite; a link takes at most 64 (Bot API, deep linking: from memory)


def is_invite_code(text: str) -> bool:
    """Whether a text can be the code of an invite."""
    return re.fullmatch(rf"[A-Za-z0-9_-]{{{CODE_LETTERS}}}", text) is not None


def ask_consent(view: ClientView) -> Turn:
    """The consent text with its two buttons."""
    alone = copy.text(view.client.language, "consent.alone", {}) if view.solo else ""
    rows = ((Button("consent.yes", "consent:yes"), Button("consent.no", "consent:no")),)
    return Turn(
        (SetStage(Stage.CONSENTING), Wait(None)),
        (Say("consent.ask", {**contact_values(view), "alone": alone}, rows, keep_private=True),),
    )


def ask_time(view: ClientView, zone_name: str) -> Say:
    """Whether the clock we read from a zone is hers."""
    zone = local_time.zone(zone_name)
    at = local_time.local(view.now, zone)
    values = {"clock": clock_text(view.now, zone), "day": DAY_NAMES[at.weekday()]}
    return Say("zone.ask", values, ((Button("zone.yes", "zone:yes"), Button("zone.no", "zone:no")),))


def ready(view: ClientView) -> Say:
    """What happens from here on."""
    coming = [v.prescription for v in view.versions if v.prescription.starts_on >= view.today]
    plan = (
        view.in_force.prescription if view.in_force else min(coming, key=lambda p: p.starts_on, default=None)
    )
    if plan is None:
        return Say("ready.no_plan", contact_values(view))
    starts = "today" if plan.starts_on <= view.today else f"{plan.starts_on.day} {plan.starts_on:%B}"
    return Say("ready", {"starts": starts, "times": times_text(view)})


def times_text(view: ClientView) -> str:
    """The times she is nudged at, such as "08:30, 13:00 and 19:30"."""
    version = view.in_force or (view.versions[-1] if view.versions else None)
    times = [f"{at:%H:%M}" for at in version.prescription.nudge_times] if version else []
    return " and ".join(filter(None, (", ".join(times[:-1]), times[-1]))) if times else ""


def consenting(view: ClientView, body: Body) -> Turn:
    """Before she has agreed, only the two buttons lead on; anything else is answered and nothing is kept."""
    match body:
        case Press(data="consent:yes") if not view.may_join:
            return Turn(says=(Say("consent.wait", contact_values(view)),))
        case Press(data="consent:yes") as press:
            effects: tuple[Effect, ...] = (
                GiveConsent(CONSENT_TEXT, given=True),
                SetStage(Stage.SETTING_TIME),
                *_taken(press),
            )
            return Turn(effects, (ask_time(view, view.client.zone),))
        case Press(data="consent:no"):
            return Turn(says=(Say("consent.refused", contact_values(view)),))
        case _:
            return Turn(says=(Say("consent.please", contact_values(view)),))


def setting_time(view: ClientView, body: Body) -> Turn:
    """Her local time, by the clinic's guess or by the city she names."""
    match body:
        case Press(data="zone:yes") as press:
            return _settled(view, press)
        case Press(data="zone:no") as press:
            return Turn((Wait({"for": "zone"}), *_taken(press)), (Say("zone.which"),))
        case Press(data=data) as press if data.startswith("zone:is:"):
            return _chosen(view, data.removeprefix("zone:is:"), press)
        case Text(text=text):
            return _named(view, text)
        case _:
            return Turn(says=(ask_time(view, view.client.zone),))


def moved(view: ClientView, text: str) -> Turn | None:
    """The city of a client who has moved or travels; None when the text names none."""
    found = local_time.find_zones(text)
    if not found:
        return None
    if len(found) == 1:
        return move_to(view, found[0])
    return Turn(says=(Say("zone.pick", rows=_zone_rows(view, found)),))


def move_to(view: ClientView, name: str) -> Turn:
    """Her new time zone; no day is counted twice and none is asked about that she never lived."""
    if local_time.known_zone(name) is None:
        return Turn(says=(Say("zone.unknown"),))
    clock = clock_text(view.now, local_time.zone(name))
    said = Say("zone.moved", {"zone": name.replace("_", " "), "clock": clock})
    return Turn((SetZone(name), Wait(None)), (said,))


def _named(view: ClientView, text: str) -> Turn:
    found = local_time.find_zones(text)
    if not found:
        return Turn(says=(Say("zone.unknown"),))
    if len(found) == 1:
        return Turn((SetZone(found[0]), Wait(None)), (ask_time(view, found[0]),))
    return Turn(says=(Say("zone.pick", rows=_zone_rows(view, found)),))


def _zone_rows(view: ClientView, found: tuple[str, ...]) -> tuple[tuple[Button, ...], ...]:
    return tuple(
        (
            Button(
                "zone.option",
                f"zone:is:{name}",
                {"zone": name.replace("_", " "), "clock": clock_text(view.now, local_time.zone(name))},
            ),
        )
        for name in found[:ZONES_OFFERED]
    )


def _chosen(view: ClientView, name: str, press: Press) -> Turn:
    if local_time.known_zone(name) is None:
        return Turn(says=(Say("zone.unknown"),))
    return Turn((SetZone(name), Wait(None), *_taken(press)), (ask_time(view, name),))


def _settled(view: ClientView, press: Press) -> Turn:
    effects: tuple[Effect, ...] = (SetStage(Stage.ACTIVE), Wait(None), *_taken(press))
    return Turn(effects, (ready(view),))


def _taken(press: Press) -> tuple[Effect, ...]:
    return () if press.message_id is None else (TakeButtons(press.message_id),)
