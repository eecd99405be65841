"""The warning rules that travel with the program, read from their files and compiled once."""

import functools
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from bot.domain import warning_signs
from bot.domain.levels import Level
from bot.domain.warning_leaning import Leaning
from bot.domain.warning_scope import Denial
from bot.domain.warning_signs import Combination, CueWords, Language, RuleFault, Saying, Sign, SignRules
from bot.errors import RefusedError
from bot.rules import sign_files
from bot.rules.sign_files import RulesFile, SecondEarEntry, SignEntry

FOLDER: Final = Path(__file__).parent / "sign_data"
_WORD_LISTS: Final = frozenset(
    {"slips", "ordinary", "fillers", "breaks", "ands", "ors", "subjects", "stops", "lead_ins", "worse"}
)


@functools.cache
def load() -> SignRules:
    """The rules in force. Raises RefusedError when a file is at fault."""
    return load_folder(FOLDER)


def load_folder(folder: Path) -> SignRules:
    """A rule set from all `.toml` files of a folder, in the order of their names.

    Raises RefusedError with one line for each fault: file, sign (or section), field, reason.
    """
    parts = read_folder(folder)
    try:
        return compiled(list(parts.values()))
    except RuleFault as fault:
        homes = {sign.id: name for name, part in parts.items() for sign in part.sign}
        home = f"{homes[fault.where]}: " if fault.where in homes else ""
        raise RefusedError(f"{home}{fault}") from fault


def read_folder(folder: Path) -> dict[str, RulesFile]:
    """The files of a rule set by name, checked each for itself. Raises RefusedError with all their faults."""
    files = {path.name: path for path in sorted(folder.glob("*.toml"))}
    if not files:
        raise RefusedError(f"{folder.name}: no rule files")
    parts: dict[str, RulesFile] = {}
    faults: list[str] = []
    for name, path in files.items():
        try:
            parts[name] = sign_files.read(path)
        except RefusedError as fault:
            faults.extend(fault.faults)
    homes: dict[str, str] = {}
    for name, part in parts.items():
        for sign in part.sign:
            if sign.id in homes:
                faults.append(f"{name}: {sign.id}: id: used twice, see {homes[sign.id]}")
            homes[sign.id] = name
    if faults:
        raise RefusedError(*faults)
    return parts


def compiled(parts: list[RulesFile]) -> SignRules:
    """The rules of some files, ready to read with. Raises RuleFault."""
    versions = [part.version for part in parts if part.version]
    codes = [part.language for part in parts if part.language]
    if len(versions) != 1 or len(codes) != 1:
        raise RuleFault("rules", "version, language", "expected exactly once in the folder")
    lists: dict[str, tuple[str, ...]] = {}
    families: dict[str, tuple[str, ...]] = {}
    same: dict[str, str] = {}
    for part in parts:
        for name, words in part.words.items():
            if name not in _WORD_LISTS:
                raise RuleFault("words", name, f"expected one of {', '.join(sorted(_WORD_LISTS))}")
            lists[name] = lists.get(name, ()) + words
        for name, words in part.families.items():
            if name in families:
                raise RuleFault("families", name, "used twice")
            families[name] = words
        same.update(part.same)
    for missing in sorted(_WORD_LISTS - lists.keys()):
        raise RuleFault("words", missing, "is missing")
    general = _lowering([part.lowered for part in parts])
    language = Language(
        code=codes[0],
        families=families,
        same=same,
        slips=frozenset(lists["slips"]),
        ordinary=frozenset(lists["ordinary"]),
        fillers=frozenset(lists["fillers"]),
        breaks=frozenset(lists["breaks"]),
        ands=frozenset(lists["ands"]),
        ors=frozenset(lists["ors"]),
        subjects=frozenset(lists["subjects"]),
        stops=frozenset(lists["stops"]),
        lead_ins=frozenset(lists["lead_ins"]),
        cues=tuple(
            CueWords(cue.denial, cue.reach, cue.words, cue.past_subject, cue.phrases)
            for part in parts
            for cue in part.cue
        ),
        shams=tuple(phrase for part in parts for phrase in part.sham),
        figures=tuple(phrase for part in parts for phrase in part.figure),
        worse=lists["worse"],
    )
    signs = [_sign(entry, general) for part in parts for entry in part.sign]
    combinations = [
        Combination(frozenset(entry.together), entry.sign, entry.level, entry.route)
        for part in parts
        for entry in part.combination
    ]
    ears = [part.second_ear for part in parts if part.second_ear is not None]
    if len(ears) > 1:
        raise RuleFault("second ear", "points", "expected once in the folder")
    leaning = _leaning(ears[0]) if ears else None
    return warning_signs.compile_rules(versions[0], language, signs, combinations, leaning)


def _leaning(entry: SecondEarEntry) -> Leaning:
    speaks_for = {clue: sign for sign, points in entry.speaks_for.items() for clue in points}
    points = {**entry.against}
    for own in entry.speaks_for.values():
        points.update(own)
    return Leaning(entry.base, entry.floor, points, speaks_for)


def _lowering(tables: list[Mapping[Denial, Mapping[Level, str]]]) -> dict[tuple[Level, Denial], Level | None]:
    out: dict[tuple[Level, Denial], Level | None] = {}
    for table in tables:
        for denial, by_level in table.items():
            for level, left in by_level.items():
                out[level, denial] = None if left == "none" else Level(left)
    return out


def _sign(entry: SignEntry, general: Mapping[tuple[Level, Denial], Level | None]) -> Sign:
    lowered = {**general, **_lowering([entry.lowered])}
    for level in Level:
        for denial in Denial:
            if (level, denial) not in lowered:
                raise RuleFault(entry.id, "lowered", f"nothing said about {denial.value} at {level.value}")
            left = lowered[level, denial]
            if left is not None and left.rank < level.rank:
                raise RuleFault(entry.id, "lowered", f"{denial.value} would raise {level.value}")
    sayings = tuple(
        Saying(said.level or entry.level, said.sure, said.route or entry.route, said.phrases)
        for said in entry.says
    )
    return Sign(
        id=entry.id,
        title=entry.title,
        level=entry.level,
        route=entry.route,
        handling=entry.handling,
        stops=entry.stops,
        pauses_nudges=entry.pauses_nudges,
        advice=entry.route.value,
        never_lowered=entry.never_lowered,
        source=entry.source,
        source_read=entry.source_read,
        sayings=sayings,
        look_alikes=entry.look_alikes,
        lowered=lowered,
    )
