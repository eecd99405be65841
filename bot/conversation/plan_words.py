"""Her plan in a client's words: what a new version changes, what is in it, what is not in it yet and why."""

import datetime as dt
from collections.abc import Collection, Iterable, Sequence

from bot.conversation import copy, plan_shown
from bot.conversation.speech import Button, Say, Values
from bot.conversation.view import ClientView
from bot.domain.changes import Change, Changed
from bot.domain.exercises import Catalogue
from bot.domain.gating import Condition, Decision, GateState
from bot.domain.prescription import InForce, Position, Prescription

TOLD_WITH_VALUES = frozenset(
    {
        Changed.HOLD,
        Changed.REPETITIONS,
        Changed.REST,
        Changed.POSITION,
        Changed.MINUTES,
        Changed.SETS_A_DAY,
        Changed.TIMES_A_DAY,
    }
)
TOLD_WITHOUT = frozenset({Changed.ADDED, Changed.LEFT_OUT})


def told_of(version: InForce, found: Sequence[Change], why: str, today: dt.date, language: str = "en") -> Say:
    """The one message about a new version: what changes, why in a line, since when. Names no exercise."""
    plan = version.prescription
    lines = list(dict.fromkeys(_change(one, plan, language) for one in found))
    values: Values = {
        "starts": day_text(plan.starts_on, today),
        "why": why,
        "lines": "\n".join(lines) or copy.text(language, "plan.change.other", {}),
    }
    rows = ((Button("plan.button.show", f"plan:show:{version.version}"), *_doubts(version)),)
    return Say("plan.changed", values, rows)


def day_text(on: dt.date, today: dt.date) -> str:
    """A day to come, such as "tomorrow" or "Monday 9 March"."""
    days = (on - today).days
    return {0: "today", 1: "tomorrow"}.get(days, f"{on:%A} {on.day} {on:%B}")


def _change(change: Change, plan: Prescription, language: str) -> str:
    name = change.changed.value.replace("-", "_")
    if change.changed in TOLD_WITHOUT:
        return copy.text(language, f"plan.change.{name}", {})
    if change.changed in TOLD_WITH_VALUES:
        values = {"before": _plain(change.before), "after": _plain(change.after)}
        return copy.text(language, f"plan.change.{name}", values)
    if change.changed is Changed.NUDGE_TIMES:
        times = ", ".join(f"{at:%H:%M}" for at in plan.nudge_times)
        return copy.text(language, "plan.change.nudge_times", {"times": times})
    if change.changed is Changed.REVIEW:
        on = plan.review_on
        return copy.text(language, "plan.change.review", {"day": f"{on.day} {on:%B}"})
    return copy.text(language, "plan.change.other", {})


def _plain(value: object) -> str:
    if isinstance(value, Position):
        return value.value
    return "0" if value is None else str(value)


def shown(view: ClientView, version: InForce) -> Say:
    """Her whole new plan in plain words, in place of the message that told her of it."""
    plan = version.prescription
    times = ", ".join(f"{at:%H:%M}" for at in plan.nudge_times)
    values: Values = {
        "starts": day_text(plan.starts_on, view.today),
        "sets": plan.sets_a_day,
        "times": times,
        "lines": "\n\n".join(plan_shown.blocks_of(view, plan))[: plan_shown.LONGEST],
    }
    return Say("plan.shown", values, (_doubts(version),), keep_private=True)


def _doubts(version: InForce) -> tuple[Button, ...]:
    return (
        Button("plan.button.unsure", f"plan:unsure:{version.version}"),
        Button("plan.button.call", f"plan:call:{version.version}"),
    )


def not_yet(
    decisions: Iterable[Decision], prescribed: Collection[str], catalogue: Catalogue, language: str = "en"
) -> Say:
    """What loads and is not in her plan, with the reasons; no date and no threat."""
    waiting: dict[tuple[str, ...], list[str]] = {}
    for decision in decisions:
        exercise = catalogue.exercises[decision.exercise]
        if exercise.loads and exercise.id not in prescribed:
            waiting.setdefault(_reasons(decision, language), []).append(exercise.title)
    of_all = _common(waiting)
    lines = [copy.text(language, "plan.not_yet.all", {"why": _listed(of_all)})] if of_all else []
    for reasons, titles in waiting.items():
        why = _listed([one for one in reasons if one not in of_all])
        said = copy.text(language, "plan.not_yet.line", {"what": ", ".join(titles), "why": why})
        lines.append(said.rstrip())
    return Say("plan.not_yet", {"lines": "\n\n".join(lines)}, keep_private=True)


def _common(waiting: Collection[tuple[str, ...]]) -> list[str]:
    """The reasons that everything waits for, said once where several groups share them."""
    first, *rest = waiting or [()]
    return [one for one in first if all(one in reasons for reasons in rest)] if rest else []


def _listed(reasons: Iterable[str]) -> str:
    return "\n".join(f"○ {one}" for one in reasons)


def _reasons(decision: Decision, language: str) -> tuple[str, ...]:
    if decision.state is not GateState.NOT_YET:
        return (copy.text(language, "plan.why.ready", {}),)
    conditions = dict.fromkeys(reason.condition for reason in decision.reasons)
    asked_again = {Condition.BLEEDING, Condition.HEAVINESS, Condition.PAIN, Condition.DOMING}
    keys = dict.fromkeys(
        "symptoms" if one in asked_again else one.value.replace("-", "_") for one in conditions
    )
    return tuple(copy.text(language, f"plan.why.{key}", {}) for key in keys)
