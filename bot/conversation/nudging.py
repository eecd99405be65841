"""What a nudge says: her moment, how far she is, and never that she is behind."""

from bot.conversation import copy, counting
from bot.conversation.speech import Button, Say, Values
from bot.conversation.view import day_name
from bot.domain.agenda import Due
from bot.domain.prescription import in_force, prescribed_sets
from bot.domain.track import Track, What


def nudge(track: Track, due: Due, cues: tuple[str, ...], language: str) -> Say:
    """A nudge with its buttons; the day's first one also asks about yesterday.

    The day's last one, where earlier ones went by, offers one set and never the missed total.
    """
    day = counting.day_text(due.on)
    ordinal = due.ordinal if due.what is What.NUDGE else f"9{due.ordinal}"
    rows: tuple[tuple[Button, ...], ...] = (
        (
            Button("nudge.button.done", f"done:{day}:{ordinal}"),
            Button("nudge.button.later", f"later:{day}:{ordinal}"),
            Button("nudge.button.no_more", f"nomore:{day}"),
        ),
    )
    values: Values = {"done": due.done, "sets": due.sets, "cue": _cue(due, cues)}
    if due.ask_yesterday is not None:
        name = day_name(due.ask_yesterday, due.on)
        asked = "nudge.next.yesterday" if due.done else "nudge.first.yesterday"
        return Say(asked, {**values, "day": name}, (*rows, _yesterday(track, due, name)))
    if due.what is What.NUDGE and due.ordinal == due.sets and due.done < due.ordinal - 1:
        caught_up = "nudge.last.next" if due.done else "nudge.last.first"
        return Say(caught_up, {**values, "easier": _easier(track, due, language)}, rows)
    return Say("nudge.next" if due.done else "nudge.first", values, rows)


def _cue(due: Due, cues: tuple[str, ...]) -> str:
    place = due.ordinal - 1 if due.what is What.NUDGE else len(cues)
    moment = cues[place] if place < len(cues) else ""
    return f"{moment[0].upper()}{moment[1:]}: " if moment else ""


def _yesterday(track: Track, due: Due, name: str) -> tuple[Button, ...]:
    if due.ask_yesterday is None:
        return ()
    sets = prescribed_sets(track.versions, due.ask_yesterday)
    data = f"total:{counting.day_text(due.ask_yesterday)}"
    return tuple(
        Button("nudge.button.yesterday", f"{data}:{number}", {"day": name.capitalize(), "number": number})
        for number in range(min(sets, counting.MOST_NUMBER_BUTTONS) + 1)
    )


def _easier(track: Track, due: Due, language: str) -> str:
    """That an easier position will do, only where the prescription allows the same one for all of a set."""
    version = in_force(track.versions, due.on)
    parts = version.prescription.contractions if version else ()
    allowed = {part.easier_position for part in parts if part.is_due(due.on.weekday())}
    position = next(iter(allowed)) if len(allowed) == 1 else None
    if position is None:
        return ""
    named = copy.text(language, f"plan.position.{position.value}", {})
    return copy.text(language, "nudge.easier", {"position": named})
