"""What a client chooses for herself: her times and the moments she ties them to, and how much she hears."""

import datetime as dt
import re
from itertools import pairwise

from bot.conversation.counting import without_buttons
from bot.conversation.effects import ChooseAmount, ChooseTimes, Turn, Wait
from bot.conversation.incoming import Press
from bot.conversation.speech import Button, Say, Values
from bot.conversation.view import ClientView
from bot.domain import local_time

AMOUNTS = (1, 2, 3)
APART_MIN = 60
LONGEST_CUE = 40
_TIME = re.compile(
    r"(?<!\d)([01]?\d|2[0-3])(?::|\.|h)([0-5]\d)(?!\d)|(?<!\d)(1[0-2]|0?[1-9])\s*([ap])\.?m\.?\b",
    re.IGNORECASE,
)
_LEAD_OUT = re.compile(r"\b(?:at|around|about)\s*$", re.IGNORECASE)
_MOMENT = re.compile(r"(?:after|before|when|while|with|at|during|once)\b", re.IGNORECASE)
_EDGES = " ,.;:-()\n\t"


def times_of(view: ClientView) -> tuple[dt.time, ...]:
    """Her nudge times as they hold today, or as they will when her plan begins."""
    version = view.in_force or (view.versions[-1] if view.versions else None)
    return version.prescription.nudge_times if version else ()


def show(view: ClientView) -> Turn:
    """Her times, with a button to change each, and how much she hears."""
    times = times_of(view)
    if not times:
        return Turn(says=(Say("times.none"),))
    change = tuple(
        (Button("times.button.change", f"time:{place}", {"clock": f"{at:%H:%M}"}),)
        for place, at in enumerate(times)
    )
    amounts = tuple(Button("times.button.amount", f"amount:{cap}", {"number": cap}) for cap in AMOUNTS)
    rows = (
        *change,
        amounts,
        (Button("times.button.evening", "amount:evening"), Button("times.button.zone", "zone:change")),
    )
    lines = "\n".join(_line(at, cue) for at, cue in zip(times, _cues(view, len(times)), strict=True))
    amount = "times.evening_only" if view.evening_only else "times.amount"
    return Turn(says=(Say(amount, {"lines": lines, "number": view.cap}, rows),))


def _cues(view: ClientView, count: int) -> tuple[str, ...]:
    return (*view.cues, *("",) * count)[:count]


def _line(at: dt.time, cue: str) -> str:
    return f"{at:%H:%M}  {cue}".rstrip()


def ask_time(view: ClientView, place: int) -> Turn:
    """Which time instead, and after which moment of hers."""
    times = times_of(view)
    if not 0 <= place < len(times):
        return Turn(says=(Say("press.old"),))
    values: Values = {"clock": f"{times[place]:%H:%M}"}
    return Turn((Wait({"for": "time", "place": place}),), (Say("times.ask", values),))


def read_time(text: str) -> tuple[dt.time | None, str]:
    """A time of day in a text, and the moment that is left of it: "after brushing teeth 9:15"."""
    found = _TIME.search(text)
    if found is None:
        return None, text.strip(_EDGES)
    if found[1] is not None:
        at = dt.time(int(found[1]), int(found[2]))
    else:
        at = dt.time(int(found[3]) % 12 + (12 if found[4].lower() == "p" else 0))
    rest = _LEAD_OUT.sub("", text[: found.start()].strip(_EDGES))
    return at, f"{rest.strip(_EDGES)} {text[found.end() :].strip(_EDGES)}".strip()


def take_time(view: ClientView, text: str) -> Turn | None:
    """Her new time and moment; None when the text holds neither, so that it is read as anything else."""
    waiting = view.waiting or {}
    place, times = int(waiting.get("place", -1)), list(times_of(view))
    at, cue = read_time(text)
    if not 0 <= place < len(times) or (at is None and not _is_moment(cue)):
        return None
    times[place] = at or times[place]
    cues = list(_cues(view, len(times)))
    cues[place] = cue[:LONGEST_CUE]
    refusal = _refusal(view, times, cues[place])
    if refusal is not None:
        return Turn(says=(refusal,))
    lines = "\n".join(_line(clock, moment) for clock, moment in zip(times, cues, strict=True))
    effects = (ChooseTimes(tuple(times), tuple(cues)), Wait(None))
    return Turn(effects, (Say("times.set", {"lines": lines}),))


def _is_moment(cue: str) -> bool:
    """Only words that tie a nudge to something are taken for a moment; a worry never is."""
    return _MOMENT.match(cue) is not None and len(cue) <= LONGEST_CUE


def _refusal(view: ClientView, times: list[dt.time], cue: str) -> Say | None:
    version = view.in_force or view.versions[-1]
    plan = version.prescription
    minutes = [at.hour * 60 + at.minute for at in times]
    if any(local_time.is_quiet(at, plan.quiet_from, plan.quiet_to) for at in times):
        quiet: Values = {"quiet_from": f"{plan.quiet_from:%H:%M}", "quiet_to": f"{plan.quiet_to:%H:%M}"}
        return Say("times.quiet", quiet)
    if any(later - earlier < APART_MIN for earlier, later in pairwise(minutes)):
        return Say("times.apart")
    if not view.is_discreet(cue):
        return Say("times.indiscreet")
    return None


def amount(view: ClientView, press: Press, chosen: str) -> Turn:
    """How many messages a day she wants at most, or only the evening question."""
    evening = chosen == "evening"
    cap = view.cap if evening else int(chosen)
    say = Say("times.chosen_evening" if evening else "times.chosen_amount", {"number": cap})
    return without_buttons(Turn((ChooseAmount(cap, evening),), (say,)), press)
