"""A short guided change of a client's newest version: one thing at a time, by buttons.

Which thing, which exercise where several come into question, the new value, why; then the difference in
words, before anything is put in force. `release` opens one exercise that loads, with the therapist's reason.
"""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from bot.conversation import copy
from bot.conversation.form import HUB, LONGEST_LINES, data
from bot.conversation.form_asks import TO_TEN, across, read_day, read_times
from bot.conversation.form_document import SHIFT_MIN, moved, review_on
from bot.conversation.speech import Button, Say, Values
from bot.domain.drafts import Draft
from bot.domain.exercises import Catalogue, Counted, Exercise
from bot.domain.gating import Decision, GateState
from bot.domain.prescription import Position
from bot.domain.template import Templates

Document = dict[str, Any]
WHAT = ("sets", "hold", "repetitions", "position", "times", "review", "release")
OF_AN_EXERCISE = frozenset({"hold", "repetitions", "position"})
WHY = ("agreed", "well", "easier", "day")
REPETITIONS = tuple(map(str, range(3, 16)))
MOST_REPETITIONS = 30
WEEKS = ("2", "4", "6", "8", "12")
SHORTEST_REASON, LONGEST_REASON = 5, 200
FIRST_AMOUNT: Mapping[Counted, Document] = {
    Counted.REPETITIONS: {"repetitions": 8},
    Counted.HOLDS: {"repetitions": 5, "hold_s": 5},
    Counted.QUICK_IN_10_S: {"repetitions": 5},
    Counted.MINUTES: {"minutes": 5},
    Counted.DONE: {},
}
"""What an exercise begins with when it is released in chat (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Bench:
    """What a change is made with. gates: where each exercise stands today. fresh: as `form.Desk`."""

    label: str
    today: dt.date
    catalogue: Catalogue
    templates: Templates
    gates: Mapping[str, Decision]
    by: str
    language: str = "en"
    fresh: bool = False


def base_of(draft: Draft) -> Document:
    """The version the change starts from."""
    return dict(draft.document or {})


def now_asked(draft: Draft, bench: Bench) -> str:
    """The key of what is asked now; HUB when the change is complete."""
    answers = draft.answers
    what = answers.get("what")
    if what is None:
        return "what"
    if "which" not in answers and (
        what == "release" or (what in OF_AN_EXERCISE and len(_parts(draft, what, bench)) > 1)
    ):
        return "which"
    return next((key for key in ("value", "why") if key not in answers), HUB)


def tokens(draft: Draft, bench: Bench) -> tuple[tuple[str, ...], ...]:
    """The buttons of what is asked now, row by row."""
    match now_asked(draft, bench):
        case "what":
            return across([what for what in WHAT if _is_open(draft, what, bench)], 3)
        case "which" if draft.answers["what"] == "release":
            return across([str(place) for place, _ in _releasable(draft, bench)])
        case "which":
            return (tuple(place for place, _ in _parts(draft, draft.answers["what"], bench)),)
        case "value":
            return _values(draft, bench)
        case "why":
            return across(WHY, 2)
        case _:
            return ()


def _is_open(draft: Draft, what: str, bench: Bench) -> bool:
    if what == "release":
        return bool(_releasable(draft, bench))
    return what not in OF_AN_EXERCISE or bool(_parts(draft, what, bench))


def _entries(document: Mapping[str, Any]) -> dict[str, Document]:
    plan = document["programme"]
    kinds = (("c", plan["contractions"]), ("a", plan.get("adjuncts") or ()))
    return {f"{kind}{place}": entry for kind, entries in kinds for place, entry in enumerate(entries)}


def _parts(draft: Draft, what: str, bench: Bench) -> list[tuple[str, Document]]:
    """The entries of the prescription that this may change."""
    found = []
    for place, entry in _entries(base_of(draft)).items():
        exercise = bench.catalogue.exercises.get(entry["exercise"])
        if exercise is None:
            continue
        held = what == "hold" and entry.get("hold_s") and exercise.counted is Counted.HOLDS
        counted = what == "repetitions" and entry.get("repetitions")
        moves = what == "position" and len(exercise.positions) > 1
        if held or counted or moves:
            found.append((place, entry))
    return found


def _releasable(draft: Draft, bench: Bench) -> list[tuple[int, Exercise]]:
    """The exercises that load and are not in the plan, with their place in the catalogue."""
    there = {entry["exercise"] for entry in _entries(base_of(draft)).values()}
    return [
        (place, exercise)
        for place, exercise in enumerate(bench.catalogue.exercises.values())
        if exercise.loads and exercise.id not in there
    ]


def _chosen(draft: Draft, bench: Bench) -> tuple[str, Document] | None:
    parts = _parts(draft, draft.answers["what"], bench)
    place = draft.answers.get("which") or (parts[0][0] if parts else "")
    return next((part for part in parts if part[0] == place), None)


def exercise_to_release(draft: Draft, bench: Bench) -> Exercise | None:
    """The exercise a release is about."""
    which = draft.answers.get("which", "")
    return next((one for place, one in _releasable(draft, bench) if str(place) == which), None)


def _values(draft: Draft, bench: Bench) -> tuple[tuple[str, ...], ...]:
    match draft.answers["what"]:
        case "sets":
            return (tuple("123456"),)
        case "hold":
            return across(TO_TEN[1:], 5)
        case "repetitions":
            return across(REPETITIONS, 5)
        case "position" if (chosen := _chosen(draft, bench)) is not None:
            exercise = bench.catalogue.exercises[chosen[1]["exercise"]]
            return across([position.value for position in exercise.positions], 2)
        case "times":
            return (tuple(SHIFT_MIN),)
        case "review":
            return (WEEKS,)
        case _:
            return ()


def pressed(draft: Draft, verb: str, token: str, bench: Bench) -> Draft | None:
    """The draft after a button; None for one that does not belong to what is asked now."""
    if verb == "back":
        given = [key for key in draft.answers if key != "base"]
        if not given:
            return None
        return replace(draft, answers={key: draft.answers[key] for key in draft.answers if key != given[-1]})
    asked = now_asked(draft, bench)
    if verb != asked or not any(token in row for row in tokens(draft, bench)):
        return None
    return replace(draft, answers={**draft.answers, asked: token})


def typed(draft: Draft, text: str, bench: Bench) -> Draft | None:
    """The draft after something typed; None when it is no answer to what is asked now."""
    asked, said = now_asked(draft, bench), " ".join(text.split())
    value: str | None = None
    if asked == "value":
        value = _read_value(draft, said, bench)
    elif asked == "why" and SHORTEST_REASON <= len(said) <= LONGEST_REASON:
        value = f"said: {said}"
    return None if value is None else replace(draft, answers={**draft.answers, asked: value})


def _read_value(draft: Draft, said: str, bench: Bench) -> str | None:
    plan = base_of(draft)["programme"]
    match draft.answers["what"]:
        case "repetitions" if said.isascii() and said.isdigit() and 1 <= int(said) <= MOST_REPETITIONS:
            return str(int(said))
        case "times":
            times = read_times(said)
            return " ".join(times) if times and len(times) == plan["sets_a_day"] else None
        case "review":
            day = read_day(said, bench.today + dt.timedelta(days=366))
            return day.isoformat() if day and day > bench.today + dt.timedelta(days=1) else None
        case "release" if SHORTEST_REASON <= len(said) <= LONGEST_REASON:
            return said
        case _:
            return None


def reads_text(draft: Draft, bench: Bench) -> bool:
    """Whether what is asked now may be answered by typing."""
    asked = now_asked(draft, bench)
    of_value = asked == "value" and draft.answers["what"] in {"repetitions", "times", "review", "release"}
    return of_value or asked == "why"


def changed(draft: Draft, bench: Bench, starts_on: dt.date) -> Document:
    """The next version: the base with the one change, from its own start on.

    A review date that the start has passed moves four weeks on, as no version may begin after its review.
    """
    document = base_of(draft)
    plan = dict(document["programme"], starts_on=starts_on.isoformat())
    plan["contractions"] = [dict(entry) for entry in plan["contractions"]]
    plan["adjuncts"] = [dict(entry) for entry in plan.get("adjuncts") or ()]
    if dt.date.fromisoformat(plan["review_on"]) <= starts_on:
        plan["review_on"] = (starts_on + dt.timedelta(weeks=4)).isoformat()
    document["programme"] = plan
    value = draft.answers["value"]
    match draft.answers["what"]:
        case "sets":
            plan |= {"sets_a_day": int(value), "nudge_times": list(bench.templates.times[int(value)])}
        case "times":
            now = [str(at)[:5] for at in plan["nudge_times"]]
            plan["nudge_times"] = moved(now, value) if value in SHIFT_MIN else value.split()
        case "review":
            plan["review_on"] = review_on(value, bench.today).isoformat()
        case "release":
            _release(document, draft, bench, value)
        case what:
            _set(document, draft, bench, what, value)
    return document


def _set(document: Document, draft: Draft, bench: Bench, what: str, value: str) -> None:
    chosen = _chosen(draft, bench)
    if chosen is None:
        return
    entry = _entries(document)[chosen[0]]
    if what == "position":
        entry["position"] = value
        easier = entry.get("easier_position")
        if easier and Position(easier).step >= Position(value).step:
            entry["easier_position"] = None
    else:
        entry["hold_s" if what == "hold" else what] = int(value)


def _release(document: Document, draft: Draft, bench: Bench, reason: str) -> None:
    exercise = exercise_to_release(draft, bench)
    if exercise is None:
        return
    decision = bench.gates[exercise.id]
    aside = list(dict.fromkeys(why.condition.value for why in decision.reasons))
    release = {
        "exercise": exercise.id,
        "on": bench.today.isoformat(),
        "by": bench.by,
        "reason": reason,
        "sets_aside": aside if decision.state is GateState.NOT_YET else [],
    }
    document["releases"] = [*(document.get("releases") or ()), release]
    entry = {
        "exercise": exercise.id,
        "position": exercise.positions[0].value,
        **FIRST_AMOUNT[exercise.counted],
    }
    document["programme"]["adjuncts"].append(entry)


def why_text(draft: Draft, language: str = "en") -> str:
    """Why, as the client reads it."""
    why = draft.answers["why"]
    if why.startswith("said: "):
        return copy.text(language, "plan.why_given", {"text": why.removeprefix("said: ")})
    return copy.text(language, f"plan.why.{why}", {})


def screen(draft: Draft, bench: Bench, lines: Sequence[str], fit: bool = True) -> Say:
    """The message for where a change stands. lines: what the question is about, or what came of it."""
    asked = now_asked(draft, bench)
    key = "change.head.fresh" if bench.fresh else "change.head"
    head = copy.text(bench.language, key, {"client": bench.label})
    values: Values = {"head": head, "lines": "\n".join(lines)[:LONGEST_LINES]}
    back = (Button("form.button.back", data(draft, "back")),) if len(draft.answers) > 1 else ()
    last = (*back, Button("form.button.discard", data(draft, "discard")))
    if not fit:
        return Say("form.unfit", values, (last,), keep_private=True)
    if asked == HUB:
        force = (Button("form.button.force", data(draft, "force"), {"client": bench.label}),)
        return Say("change.hub", values, (force, last), keep_private=True)
    sentence = f"change.ask.{draft.answers['what']}" if asked == "value" else f"change.ask.{asked}"
    rows = tuple(
        tuple(_token_button(draft, asked, token, bench) for token in row) for row in tokens(draft, bench)
    )
    return Say(sentence, values, (*rows, last), keep_private=True)


def _token_button(draft: Draft, asked: str, token: str, bench: Bench) -> Button:
    label = f"change.button.{asked}.{token}"
    shown: dict[str, str | int] = {"value": token}
    if asked == "which":
        places = [str(place) for row in tokens(draft, bench) for place in row]
        shown = {"value": places.index(token) + 1}
    elif asked == "value" and draft.answers["what"] == "times":
        label = f"form.button.{token}"
    return Button(
        label if copy.has(bench.language, label) else "form.button.value", data(draft, asked, token), shown
    )


def which_lines(draft: Draft, bench: Bench) -> list[str]:
    """What may be chosen from, a line each, numbered like the buttons."""
    if draft.answers["what"] == "release":
        states = {GateState.NOT_YET: "change.state.not_yet"}
        return [
            f"{number}  {exercise.title} "
            + copy.text(bench.language, states.get(bench.gates[exercise.id].state, "change.state.ready"), {})
            for number, (_, exercise) in enumerate(_releasable(draft, bench), 1)
        ]
    parts = _parts(draft, draft.answers["what"], bench)
    return [
        f"{number}  {bench.catalogue.title(entry['exercise'])}" for number, (_, entry) in enumerate(parts, 1)
    ]
