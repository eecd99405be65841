"""The guided form for a new client: which question comes now, what an answer does, how each screen reads.

The main line asks what every client of this kind needs, one tap a question, and ends in a summary. From there
a question may be opened out of turn and leads back. A draft holds answers only: what comes of them is worked
out anew each time, and nothing is in force before the therapist says so.
"""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from bot.conversation import copy
from bot.conversation.form_asks import (
    AFTER_BIRTH,
    ASKS,
    MORE,
    SETTINGS,
    Ask,
    ask_of,
    required,
)
from bot.conversation.speech import Button, Say, Values
from bot.domain.drafts import Draft
from bot.domain.findings import weeks_since
from bot.domain.template import Template, Templates

HUB = "hub"
MENU = "more"
PARTS = ("power", "endurance", "repetitions", "fast")  # of the PERFECT values
LONGEST_LINES = 3000  # of a summary in one message, well below the platform's limit


@dataclass(frozen=True, slots=True)
class Desk:
    """What a screen is drawn with.

    label: what stands for the client here. fresh: whether it is a message of its own, which a lock screen may
    show, and not an earlier one changed in place.
    """

    templates: Templates
    label: str
    today: dt.date
    language: str = "en"
    fresh: bool = False


def data(draft: Draft, verb: str, token: str = "") -> str:
    """What a button of a draft carries."""
    return f"dr:{draft.id.hex}:{verb}:{token}"


def template_of(draft: Draft, templates: Templates) -> Template | None:
    """The starting template, None before it is chosen."""
    return templates.by_id(draft.answers.get("template", ""))


def now_asked(draft: Draft, templates: Templates) -> str:
    """The key of the question that stands now; HUB at the end of the line, MENU for what may be added."""
    if draft.step:
        return draft.step
    template = template_of(draft, templates)
    return next((key for key in required(draft.answers, template) if key not in draft.answers), HUB)


def pressed(draft: Draft, verb: str, token: str, templates: Templates) -> Draft | None:
    """The draft after a button; None for one that does not belong to what is asked now."""
    asked = now_asked(draft, templates)
    match verb:
        case "back":
            return _back(draft)
        case "more" if asked in {HUB, MENU}:
            return replace(draft, step=MENU)
        case "hub" if asked in {MENU, *MORE, *SETTINGS, "cleared_by"}:
            return replace(draft, step="")
        case "open" if asked in {HUB, MENU} and token in {*MORE, *SETTINGS}:
            return replace(draft, step=token)
        case _:
            pass
    if verb != asked or asked in {HUB, MENU}:
        return None
    if not ask_of(asked, template_of(draft, templates), templates).takes(token):
        return None
    return _answered(draft, {asked: token})


def typed(draft: Draft, text: str, desk: Desk) -> Draft | None:
    """The draft after something typed; None when it is no answer to what is asked now."""
    asked = now_asked(draft, desk.templates)
    ask = ASKS.get(asked)
    found = ask.reads(text, desk.today) if ask is not None and ask.reads is not None else None
    return None if found is None else _answered(draft, found)


def reads_text(draft: Draft, templates: Templates) -> bool:
    """Whether the question that stands now may be answered by typing."""
    ask = ASKS.get(now_asked(draft, templates))
    return ask is not None and ask.reads is not None


def _answered(draft: Draft, found: Mapping[str, str]) -> Draft:
    answers = dict(draft.answers)
    for key, token in found.items():
        answers.pop(key, None)  # an answer that is given again becomes the newest
        answers[key] = token
    if "sets" in found:
        answers.pop("times", None)
    step = ""
    if "cleared" in found:
        step = "cleared_by"
    elif "power" in found:
        step = ""  # the rest of the values is asked in line
    elif draft.step in {*MORE, "cleared_by"}:
        step = MENU
    return replace(draft, answers=answers, step=step)


def _back(draft: Draft) -> Draft | None:
    """One question back: out of a question opened from the summary, else to the newest answer of the line."""
    if draft.step:
        inside = draft.step in {*MORE, "cleared_by"}
        return replace(draft, step=MENU if inside else "")
    if not draft.answers:
        return None
    answers = dict(draft.answers)
    answers.popitem()
    return replace(draft, answers=answers)


def head(draft: Draft, desk: Desk) -> str:
    """Whose draft this is and what has been answered, for the top of every screen."""
    key = "form.head.fresh" if desk.fresh else "form.head"
    said = copy.text(desk.language, key, {"client": desk.label})
    so_far = _so_far(draft, desk)
    return f"{said}\n{so_far}" if so_far else said


def _so_far(draft: Draft, desk: Desk) -> str:
    parts = []
    answers = draft.answers
    if answers.get("birth", "none") != "none":
        on = dt.date.fromisoformat(answers["birth"])
        weeks = weeks_since(on, desk.today)
        values: Values = {"day": day_text(on), "number": weeks}
        parts.append(copy.text(desk.language, "form.so_far.birth", values))
    if "power" in answers:
        values = {key: answers.get(key, "?") for key in PARTS}
        parts.append(copy.text(desk.language, "form.so_far.strength", values))
    return "; ".join(parts)


def day_text(on: dt.date) -> str:
    """A day with its year, such as "9 Feb 2026"."""
    return f"{on.day} {on:%b %Y}"


def screen(draft: Draft, desk: Desk, summary: Sequence[str] = (), fit: bool = True) -> Say:
    """The message for where a draft stands. summary: what has come of it, for the end of the line."""
    asked = now_asked(draft, desk.templates)
    if asked == HUB:
        return _hub(draft, desk, summary, fit)
    if asked == MENU:
        return _menu(draft, desk)
    ask = ask_of(asked, template_of(draft, desk.templates), desk.templates)
    values = {"head": head(draft, desk), "lines": _template_lines(desk) if asked == "template" else ""}
    out_of_turn = (_button(draft, "form.button.done", "hub"),) if draft.step else ()
    last = (*_back_row(draft), *out_of_turn, _button(draft, "form.button.discard", "discard"))
    return Say(f"form.ask.{asked}", values, (*_answer_rows(draft, ask, desk), last), keep_private=True)


def _back_row(draft: Draft) -> tuple[Button, ...]:
    return (_button(draft, "form.button.back", "back"),) if draft.answers or draft.step else ()


def _button(draft: Draft, label: str, verb: str, token: str = "", **values: str | int) -> Button:
    return Button(label, data(draft, verb, token), values)


def _answer_rows(draft: Draft, ask: Ask, desk: Desk) -> tuple[tuple[Button, ...], ...]:
    rows = []
    numbers = {one.id: place for place, one in enumerate(desk.templates.templates, 1)}
    for row in ask.rows:
        buttons = []
        for token in row:
            if ask.key == "template":
                buttons.append(_button(draft, "form.button.value", ask.key, token, value=numbers[token]))
            elif ask.key == "distance" and "_" in token:
                site, _, width = token.partition("_")
                buttons.append(_button(draft, f"form.button.{site}", ask.key, token, value=width))
            else:
                named = (f"form.button.{ask.key}.{token}", f"form.button.{token}")
                label = next((one for one in named if copy.has(desk.language, one)), "form.button.value")
                buttons.append(_button(draft, label, ask.key, token, value=token))
        rows.append(tuple(buttons))
    return tuple(rows)


def _template_lines(desk: Desk) -> str:
    return "\n".join(f"{place}  {one.title}" for place, one in enumerate(desk.templates.templates, 1))


def _more_keys(draft: Draft) -> tuple[str, ...]:
    """What may be added for this client: nothing about a birth or a baby where there was none."""
    if draft.answers.get("birth", "none") == "none":
        return tuple(key for key in MORE if key not in AFTER_BIRTH)
    return MORE


def _menu(draft: Draft, desk: Desk) -> Say:
    """What may be added, a line each with what is there, a number for each on the buttons."""
    keys = _more_keys(draft)
    lines = []
    for place, key in enumerate(keys, 1):
        said = copy.text(desk.language, f"form.more.{key}", {})
        lines.append(f"{place}  {said}: {_answer_text(key, draft, desk)}")
    buttons = [
        _button(draft, "form.button.value", "open", key, value=place) for place, key in enumerate(keys, 1)
    ]
    rows = tuple(tuple(buttons[start : start + 6]) for start in range(0, len(buttons), 6))
    values: Values = {"head": head(draft, desk), "lines": "\n".join(lines)}
    return Say("form.more", values, (*rows, (_button(draft, "form.button.done", "hub"),)), keep_private=True)


def _answer_text(key: str, draft: Draft, desk: Desk) -> str:
    token = draft.answers.get(key)
    if token is None:
        return copy.text(desk.language, "form.not_recorded", {})
    if key == "distance" and "_" in token:
        site, _, width = token.partition("_")
        return copy.text(desk.language, f"form.site.{site}", {"value": width})
    if key == "power" and "fast" in draft.answers:
        power, endurance, repetitions, fast = (draft.answers[part] for part in PARTS)
        return f"{power}/{endurance}/{repetitions}//{fast}"
    for sentence in (f"form.{key}.{token}", f"form.button.{token}"):
        if copy.has(desk.language, sentence):
            return copy.text(desk.language, sentence, {})
    if key == "cleared" and "cleared_by" in draft.answers:
        return f"{token}, {draft.answers['cleared_by']}"
    return token


def _hub(draft: Draft, desk: Desk, summary: Sequence[str], fit: bool) -> Say:
    lines = "\n".join(summary)[:LONGEST_LINES]
    values: Values = {"head": head(draft, desk), "lines": lines}
    force = (_button(draft, "form.button.force", "force", client=desk.label),)
    change = (
        _button(draft, "form.button.sets", "open", "sets"),
        _button(draft, "form.button.times", "open", "times"),
        _button(draft, "form.button.review", "open", "review"),
    )
    rest = (
        _button(draft, "form.button.more", "more"),
        *_back_row(draft),
        _button(draft, "form.button.discard", "discard"),
    )
    rows = (force, change, rest) if fit else (change, rest)
    return Say("form.hub" if fit else "form.unfit", values, rows, keep_private=True)
