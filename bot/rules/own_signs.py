"""A clinic's own changes to the warning signs: a level, further phrases, other words of advice.

A level may be raised freely. Lowering one needs who decided it and why, and both are printed for sign-off.
The file is part of what a clinician signs: a change of it needs a new sign-off.
"""

import string
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Final

from pydantic import Field, ValidationError

from bot.conversation.copy import en_advice
from bot.domain import warning_notation
from bot.domain.levels import Level
from bot.domain.warning_signs import Route, RuleFault, SignRules
from bot.errors import RefusedError
from bot.rules import faults, signs
from bot.rules.discretion import indiscreet
from bot.rules.faults import Strict
from bot.rules.sign_files import Phrase, RulesFile, SayingEntry, SignEntry

EXPECTED: Final = "a clinic's own warning signs in TOML"
LARGEST_BYTES: Final = 64 * 1024
LONGEST_ADVICE: Final = 1200  # characters
KIND: Final = "a clinic's own warning signs"
# Where an emergency may send her; raising a sign to one needs such a route.
NOW: Final = frozenset(
    {Route.AMBULANCE, Route.EMERGENCY_DEPARTMENT, Route.CRISIS_LINE, Route.BABY_ADVICE, Route.SAFEGUARDING}
)
ADVICE: Final = tuple(
    key
    for key in en_advice.SENTENCES
    if key in {f"advice.{route.value}" for route in Route} or key.startswith("advice.sign.")
)


class LevelEntry(Strict):
    """Another level for a sign. `reason` and `name` are required where it becomes less urgent."""

    sign: str = Field(min_length=1, max_length=40)
    level: Level
    route: Route | None = None
    reason: str = Field(default="", max_length=300)
    name: str = Field(default="", max_length=80)


class PhrasesEntry(Strict):
    """Further phrases of a sign, in the notation of the packaged rules; the level is the sign's own."""

    sign: str = Field(min_length=1, max_length=40)
    phrases: Annotated[tuple[Phrase, ...], Field(min_length=1, max_length=200)]


class OwnFile(Strict):
    """The whole file."""

    level: tuple[LevelEntry, ...] = ()
    phrases: tuple[PhrasesEntry, ...] = ()
    advice: Mapping[str, str] = {}


@dataclass(frozen=True, slots=True)
class Lowered:
    """A sign the clinic made less urgent, by whom and why."""

    sign: str
    before: Level
    after: Level
    reason: str
    name: str


@dataclass(frozen=True, slots=True)
class OwnSigns:
    """Rules and advice as a clinic uses them.

    advice: texts that stand in place of ours, by sentence id. changed: ids of the signs it changed.
    text: the file as it is, for the digest; "" without one.
    """

    rules: SignRules
    advice: Mapping[str, str]
    lowered: tuple[Lowered, ...]
    changed: frozenset[str]
    text: str


def schema() -> dict[str, Any]:
    """The JSON Schema of the file."""
    return OwnFile.model_json_schema()


def load(path: Path | None) -> OwnSigns:
    """The rules in force with a clinic's own file, or the packaged ones.

    Raises RefusedError with a line for each fault, all in one go: file, place, what was expected.
    """
    if path is None:
        return OwnSigns(signs.load(), {}, (), frozenset(), "")
    name = str(path)
    text = faults.read_text(path, LARGEST_BYTES, EXPECTED)
    document = faults.read_toml(text, name, EXPECTED)
    own, found = _parsed(document)
    parts = signs.read_folder(signs.FOLDER)
    known = {entry.id: entry for part in parts.values() for entry in part.sign}
    found += [*_level_faults(own, known), *_phrase_faults(own, parts, known), *_advice_faults(own)]
    if found:
        raise RefusedError(*(faults.line(name, place, message) for place, message in found))
    changed = [_with_own(part, own) for part in parts.values()]
    try:
        rules = signs.compiled(changed)
    except RuleFault as fault:
        raise RefusedError(f"{name}: {fault}") from fault
    lowered = tuple(
        Lowered(entry.sign, known[entry.sign].level, entry.level, entry.reason.strip(), entry.name.strip())
        for entry in own.level
        if entry.level.rank > known[entry.sign].level.rank
    )
    touched = {entry.sign for entry in own.level} | {entry.sign for entry in own.phrases}
    return OwnSigns(rules, dict(own.advice), lowered, frozenset(touched), text)


def _with_own(part: RulesFile, own: OwnFile) -> RulesFile:
    return part.model_copy(update={"sign": tuple(_changed(sign, own) for sign in part.sign)})


def _parsed(document: Mapping[str, Any]) -> tuple[OwnFile, list[tuple[str, str]]]:
    """The file, and the faults of its shape; entries at fault are left out, to look at the rest too."""
    try:
        return OwnFile.model_validate(document), []
    except ValidationError as error:
        found = list(faults.lines(error, KIND, faults.field_names(OwnFile)))
    bad = {place[:2] for place, _ in found} | {place[:1] for place, _ in found if len(place) == 1}
    sound: dict[str, Any] = {}
    for section, entries in document.items():
        if (section,) in bad or section not in OwnFile.model_fields:
            continue
        if isinstance(entries, dict):
            sound[section] = {key: entry for key, entry in entries.items() if (section, key) not in bad}
        else:
            sound[section] = [entry for n, entry in enumerate(entries) if (section, n) not in bad]
    return OwnFile.model_validate(sound), [(_where(document, place), said) for place, said in found]


def _where(document: Mapping[str, Any], place: faults.Place) -> str:
    """A place in the file, with the sign's own id in place of its number."""
    if len(place) > 1 and isinstance(place[1], int):
        entry = document[str(place[0])][place[1]]
        named = entry.get("sign") if isinstance(entry, Mapping) else None
        return faults.dotted((place[0], named if isinstance(named, str) else place[1] + 1, *place[2:]))
    return faults.dotted(place)


def _changed(sign: SignEntry, own: OwnFile) -> SignEntry:
    """A sign with what the clinic says of it; phrases at a level of their own keep that level."""
    says = sign.says
    for extra in own.phrases:
        if extra.sign == sign.id:
            says += (SayingEntry(phrases=extra.phrases),)
    update: dict[str, Any] = {"says": says}
    for entry in own.level:
        if entry.sign == sign.id:
            update["level"] = entry.level
            update["route"] = entry.route or _route(sign, entry.level)
            update["says"] = tuple(
                said.model_copy(update={"level": None, "route": None}) if said.level is sign.level else said
                for said in says
            )
    return sign.model_copy(update=update)


def _route(sign: SignEntry, level: Level) -> Route:
    if level is Level.SAME_DAY and sign.route is Route.THERAPIST:
        return Route.CLINICIAN_TODAY
    return sign.route


def _level_faults(own: OwnFile, known: Mapping[str, SignEntry]) -> Iterator[tuple[str, str]]:
    met: set[str] = set()
    for entry in own.level:
        place = f"level.{entry.sign}"
        sign = known.get(entry.sign)
        if sign is None:
            yield f"{place}.sign", _unknown(entry.sign, known)
            continue
        if entry.sign in met:
            yield f"{place}.sign", f"{entry.sign} is given a level twice"
        met.add(entry.sign)
        if entry.level.rank > sign.level.rank:
            for field in ("reason", "name"):
                if not getattr(entry, field).strip():
                    yield (
                        f"{place}.{field}",
                        f"missing; lowering {entry.sign} from {sign.level.value} needs a reason and a name",
                    )
        route = entry.route or _route(sign, entry.level)
        if entry.level is Level.EMERGENCY and route not in NOW:
            expected = ", ".join(sorted(each.value for each in NOW))
            yield f"{place}.route", f"{route.value} is no route of an emergency; expected one of {expected}"


def _unknown(sign: str, known: Mapping[str, SignEntry]) -> str:
    near = faults.nearest(sign, known.keys())
    return "not a warning sign we know; " + (f"did you mean {near}?" if near else "see `programme-bot signs`")


def _phrase_faults(
    own: OwnFile, parts: Mapping[str, RulesFile], known: Mapping[str, SignEntry]
) -> Iterator[tuple[str, str]]:
    families = {name: words for part in parts.values() for name, words in part.families.items()}
    atoms = warning_notation.Atoms(families)
    for entry in own.phrases:
        if entry.sign not in known:
            yield f"phrases.{entry.sign}.sign", _unknown(entry.sign, known)
        for number, phrase in enumerate(entry.phrases, start=1):
            try:
                warning_notation.phrase(phrase, atoms)
            except warning_notation.BadNotation as fault:
                yield f"phrases.{entry.sign}.phrases.{number}", str(fault)


def _advice_faults(own: OwnFile) -> Iterator[tuple[str, str]]:
    for key, text in own.advice.items():
        place = f"advice.{key}"
        if key not in ADVICE:
            near = faults.nearest(key, ADVICE)
            yield (
                place,
                "not an advice text; " + (f"did you mean {near}?" if near else "see `programme-bot signs`"),
            )
            continue
        try:
            fields = _fields(text)
        except ValueError:
            yield place, "a brace without its partner; expected values such as {emergency_number}"
            continue
        wanted = _fields(en_advice.SENTENCES[key])
        for missing in sorted(wanted - fields):
            yield place, f"{{{missing}}} is missing; our text has it, and yours has to say it too"
        for extra in sorted(fields - wanted):
            yield place, f"{{{extra}}} is not a value of this text; expected only {_listed(wanted)}"
        if len(text) > LONGEST_ADVICE:
            yield place, f"expected at most {LONGEST_ADVICE} characters"
        for word in dict.fromkeys(indiscreet(text)):
            yield place, f"{word!r} would stand on a lock screen; expected it after the first 160 characters"


def _fields(text: str) -> frozenset[str]:
    return frozenset(name for _, name, _, _ in string.Formatter().parse(text) if name is not None)


def _listed(names: frozenset[str]) -> str:
    return ", ".join(f"{{{name}}}" for name in sorted(names))
