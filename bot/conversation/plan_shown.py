"""Her plan in plain words, and the exercises beside the sets, each with a *done* tap of its own.

Every message opens with so many plain words that no lock screen shows what stands below them. The exercises
beside the sets go by a letter wherever a notification may show it.
"""

import datetime as dt
from collections.abc import Iterator, Sequence

from bot.conversation import copy, enrol
from bot.conversation.counting import day_text, without_buttons
from bot.conversation.effects import BookExtra, Turn
from bot.conversation.incoming import Press
from bot.conversation.speech import Button, Say, Values
from bot.conversation.view import DAY_NAMES, ClientView, contact_values
from bot.domain.exercises import Counted
from bot.domain.extras import Extra, done_on, due_on
from bot.domain.prescription import Adjunct, Contractions, Position, Prescription

LONGEST = 3600  # characters of one message; the platform allows 4,096
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
A_ROW = 4  # buttons side by side


def show(view: ClientView) -> Turn:
    """What is prescribed: the set, how each part is done, how to get up, what stands in for equipment."""
    version = view.in_force or (view.versions[-1] if view.versions else None)
    if version is None:
        return Turn(says=(Say("today.no_plan", contact_values(view)),))
    if view.held:
        return Turn(says=(Say("plan.held", contact_values(view)),))
    plan = version.prescription
    blocks = [*blocks_of(view, plan), _closing(view, (*plan.contractions, *plan.adjuncts))]
    values: Values = {"sets": plan.sets_a_day, "times": enrol.times_text(view)}
    parts = tuple(_in_messages(blocks))
    says = [Say("plan.show", {**values, "lines": parts[0]}, keep_private=True)]
    says += [Say("plan.more", {"lines": part}, silent=True, keep_private=True) for part in parts[1:]]
    *before, last = says
    return Turn(
        says=(*before, Say(last.copy, last.values, extra_rows(view), silent=last.silent, keep_private=True))
    )


def blocks_of(view: ClientView, plan: Prescription) -> list[str]:
    """Each exercise of a plan in plain words: those of the sets by number, those beside them by letter."""
    blocks = [_block(view, f"{place}.", part) for place, part in enumerate(plan.contractions, start=1)]
    if plan.adjuncts:
        blocks.append(_text(view, "plan.beside"))
    blocks += [_block(view, f"{letter}.", one) for letter, one in zip(LETTERS, plan.adjuncts, strict=False)]
    return blocks


def _in_messages(blocks: Sequence[str]) -> Iterator[str]:
    held = ""
    for block in blocks:
        if held and len(held) + len(block) > LONGEST:
            yield held
            held = ""
        held = f"{held}\n\n{block}".strip()
    yield held


def _text(view: ClientView, key: str, **values: str | int) -> str:
    return copy.text(view.client.language, key, values)


def _block(view: ClientView, mark: str, part: Contractions | Adjunct) -> str:
    """One exercise: what and how much, its cues, what stands in for the equipment."""
    known = view.catalogue.exercises.get(part.exercise)
    lines = [f"{mark} {view.catalogue.title(part.exercise)}", _amount(view, part)]
    if part.days is not None:
        named = ", ".join(DAY_NAMES[day] for day in sorted(part.days))
        lines.append(_text(view, "plan.days", days=named))
    if known is not None:
        lines += (f"• {cue}" for cue in known.cues)
        lines += (_text(view, "plan.stand_in", thing=e.thing, stand_in=e.stand_in) for e in known.equipment)
    return "\n".join(lines)


def _amount(view: ClientView, part: Contractions | Adjunct) -> str:
    known = view.catalogue.exercises.get(part.exercise)
    position = _text(view, f"plan.position.{part.position.value}")
    values: dict[str, str | int] = {
        "repetitions": part.repetitions or 0,
        "hold": part.hold_s or 0,
        "position": position,
    }
    if isinstance(part, Contractions):
        key = "plan.quick" if known and known.counted is Counted.QUICK_IN_10_S else "plan.holds"
        return _text(view, key, rest=part.rest_s, **values)
    kind = "minutes" if part.minutes else "holds" if part.hold_s else "times" if part.repetitions else "done"
    return _text(
        view, f"plan.beside.{kind}", minutes=part.minutes or 0, often=_often(view, part.times_a_day), **values
    )


def _often(view: ClientView, times: int) -> str:
    key = f"plan.often.{times}" if times <= 2 else "plan.often.more"  # noqa: PLR2004 - once, twice
    return _text(view, key, often=times)


def _closing(view: ClientView, parts: Sequence[Contractions | Adjunct]) -> str:
    """How to get up, and when to stop: once for all, since they are the same for most."""
    known = [view.catalogue.exercises.get(part.exercise) for part in parts]
    lying = any(part.position in {Position.LYING, Position.SIDE_LYING} for part in parts)
    up = dict.fromkeys(one.getting_up for one in known if one and one.getting_up and lying)
    stop = dict.fromkeys(sign for one in known if one for sign in one.stop_if)
    lines = [*up]
    if stop:
        lines += [_text(view, "plan.stop_if"), *(f"• {sign}" for sign in stop)]
    return "\n".join((*lines, _text(view, "plan.ask", **contact_values(view))))


# ---- Beside the sets --------------------------------------------------------------------------------------


def _due(view: ClientView, on: dt.date) -> tuple[tuple[str, Adjunct], ...]:
    """The exercises beside the sets of a day, each with its letter in the plan."""
    version = view.in_force
    plan = version.prescription if version is not None else None
    return due_on(plan, on, LETTERS) if plan is not None else ()


def extra_rows(view: ClientView) -> tuple[tuple[Button, ...], ...]:
    """A *done* button for each exercise beside the sets that is due today and not yet done."""
    day = day_text(view.today)
    buttons = [
        Button("extra.button", f"extra:{day}:{letter}", {"letter": letter})
        for letter, one in _due(view, view.today)
        if done_on(view.extras, view.today, one.exercise) < one.times_a_day
    ]
    return tuple(tuple(buttons[at : at + A_ROW]) for at in range(0, len(buttons), A_ROW))


def pressed_extra(view: ClientView, press: Press, on: dt.date, letter: str) -> Turn:
    """One more of an exercise beside the sets; beyond what is due it is only confirmed."""
    one = dict(_due(view, on)).get(letter)
    if one is None:
        return Turn(says=(Say("press.old"),))
    done = done_on(view.extras, on, one.exercise)
    key = f"x.{view.chat_ref}.{press.press_id}"[:58]
    values: Values = {"letter": letter, "done": done, "times": one.times_a_day}
    if done >= one.times_a_day or any(extra.key == key for extra in view.extras):
        return Turn(says=(Say("extra.already", values),))
    extra = Extra(on, one.exercise, view.said_at, key)
    undo = Button("undo.button", f"undoextra:{key}")
    return Turn((BookExtra(extra),), (Say("extra.booked", {**values, "done": done + 1}, ((undo,),)),))


def undo_extra(view: ClientView, press: Press, key: str) -> Turn:
    """Take such a tap back."""
    found = next((extra for extra in view.extras if extra.key == key), None)
    if found is None or any(extra.undoes == key for extra in view.extras):
        return without_buttons(Turn(says=(Say("press.old"),)), press)
    back = Extra(found.on, found.exercise, view.said_at, f"undo:{key}", undoes=key)
    return without_buttons(Turn((BookExtra(back),), (Say("extra.undone"),)), press)


def week_line(view: ClientView, days: Sequence[dt.date]) -> str:
    """How often each exercise beside the sets was done on some days, by its letter; "" for none."""
    plan = view.in_force.prescription if view.in_force is not None else None
    if plan is None or not plan.adjuncts:
        return ""
    figures = []
    for letter, one in zip(LETTERS, plan.adjuncts, strict=False):
        done = sum(done_on(view.extras, on, one.exercise) for on in days)
        due = sum(one.times_a_day for on in days if view.sets(on) and one in dict(_due(view, on)).values())
        figures.append(_text(view, "week.extra", letter=letter, done=done, due=due))
    return _text(view, "week.extras", figures=", ".join(figures))
