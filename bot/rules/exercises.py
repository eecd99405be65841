"""The exercises that travel with the program, and a clinic's own file that adds to them or re-words them."""

import functools
from collections import Counter
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Annotated, Any, Final, TypeVar

from pydantic import Field, ValidationError, model_validator

from bot.domain.exercises import Catalogue, Counted, Equipment, Exercise, Group, Load
from bot.domain.prescription import Position
from bot.errors import RefusedError
from bot.rules import faults
from bot.rules.faults import Strict

FOLDER: Final = Path(__file__).parent / "exercise_data"
ID_SHAPE = r"^[a-z0-9][a-z0-9-]{1,47}$"
LARGEST_FILE_BYTES = 256 * 1024
_LYING: Final = frozenset({Position.LYING, Position.SIDE_LYING})

Model = TypeVar("Model", bound=Strict)
Sentence = Annotated[str, Field(min_length=5, max_length=200)]
Sentences = Annotated[tuple[Sentence, ...], Field(max_length=8)]
Title = Annotated[str, Field(min_length=3, max_length=60)]
Id = Annotated[str, Field(pattern=ID_SHAPE)]


class EquipmentEntry(Strict):
    """A thing that is used, and what stands in for it at home."""

    thing: str = Field(min_length=2, max_length=60)
    stand_in: str = Field(min_length=2, max_length=60)


class ExerciseEntry(Strict):
    """One exercise; what each field means stands at `bot.domain.exercises.Exercise`.

    shared: keys of cues that several exercises share. stop_if: signs of its own, beside those for all.
    """

    id: Id
    title: Title
    group: Group
    counted: Counted
    strength: bool = False
    pelvic_floor: bool = False
    loads: tuple[Load, ...] = ()
    positions: Annotated[tuple[Position, ...], Field(min_length=1)]
    equipment: tuple[EquipmentEntry, ...] = ()
    cues: Annotated[Sentences, Field(min_length=1)]
    shared: tuple[str, ...] = ()
    stop_if: Sentences = ()
    easier: Id | None = None

    @model_validator(mode="after")
    def _fits_together(self) -> "ExerciseEntry":
        wrong = []
        if self.group is Group.CONTRACTIONS and self.loads:
            wrong.append("loads: a contraction loads nothing; expected another group for one that does")
        if self.group is Group.RELAXATION and (self.strength or self.loads):
            wrong.append("strength: a relaxation is never made harder and loads nothing")
        if self.group is Group.CONTRACTIONS and self.counted in {Counted.MINUTES, Counted.DONE}:
            wrong.append("counted: expected holds, repetitions or quick-in-10-s inside a set")
        if list(self.positions) != sorted(set(self.positions), key=lambda position: position.step):
            ladder = ", ".join(Position)
            wrong.append(f"positions: expected each once, easiest first ({ladder})")
        if wrong:
            raise ValueError("\n".join(wrong))
        return self


class CatalogueFile(Strict):
    """Any file of the catalogue. The files of a folder are read together."""

    exercise: tuple[ExerciseEntry, ...] = ()
    shared_cue: Mapping[str, Sentence] = {}
    stop_if: Sentences = ()
    getting_up: Sentence | None = None


class Rewording(Strict):
    """A clinic's own words for an exercise that is there already; what it loads stays as it is.

    cues: instead of the exercise's own; cues that several share stay. also_stop_if: added to the signs.
    """

    id: Id
    title: Title | None = None
    cues: Annotated[Sentences, Field(min_length=1)] | None = None
    also_stop_if: Sentences = ()


def read(path: Path) -> CatalogueFile:
    """One file of the catalogue. Raises RefusedError naming file, exercise and field."""
    document = faults.read_toml(
        faults.read_text(path, LARGEST_FILE_BYTES, "exercises in TOML"), path.name, "exercises in TOML"
    )
    return checked(CatalogueFile, document, path.name)


def checked(model: type[Model], document: Mapping[str, Any], name: str) -> Model:
    """A document as a model of exercises; faults name the exercise instead of its number."""
    try:
        return model.model_validate(document)
    except ValidationError as error:
        found = faults.lines(error, "an exercise", faults.field_names(model))
        raise RefusedError(
            *(faults.line(name, _where(document, place), message) for place, message in found)
        ) from None


def _where(document: Mapping[str, Any], place: faults.Place) -> str:
    if len(place) > 1 and isinstance(place[1], int):
        entry = document[str(place[0])][place[1]]
        own = entry.get("id") if isinstance(entry, Mapping) else None
        name = own if isinstance(own, str) else f"{place[0]} {place[1] + 1}"
        return faults.dotted((name, *place[2:]))
    return faults.dotted(place)


@functools.cache
def load() -> Catalogue:
    """The exercises that travel with the program. Raises RefusedError when a file is at fault."""
    return compiled(packaged(), FOLDER.name)


@functools.cache
def packaged() -> CatalogueFile:
    """The files that travel with the program, as one."""
    return read_folder(FOLDER)


def read_folder(folder: Path) -> CatalogueFile:
    """All `.toml` files of a folder as one, in the order of their names.

    Raises RefusedError with one line for each fault: file, exercise, field, reason.
    """
    parts: list[CatalogueFile] = []
    wrong: list[str] = []
    for path in sorted(folder.glob("*.toml")):
        try:
            parts.append(read(path))
        except RefusedError as fault:
            wrong.extend(fault.faults)
    if wrong:
        raise RefusedError(*wrong)
    return CatalogueFile(
        exercise=tuple(entry for part in parts for entry in part.exercise),
        shared_cue={key: cue for part in parts for key, cue in part.shared_cue.items()},
        stop_if=tuple(sign for part in parts for sign in part.stop_if),
        getting_up=next((part.getting_up for part in parts if part.getting_up), None),
    )


def compiled(file: CatalogueFile, name: str) -> Catalogue:
    """The catalogue of a file; `name` stands in front of every fault.

    Raises RefusedError for an id that stands twice, a cue or an easier exercise that is not there, and for
    anything done lying without advice on getting up.
    """
    ids = [entry.id for entry in file.exercise]
    wrong = [f"{name}: {twice}: there is an exercise of this id already" for twice in _twice(ids)]
    for entry in file.exercise:
        missing = [key for key in entry.shared if key not in file.shared_cue]
        if missing:
            known = ", ".join(file.shared_cue)
            wrong.append(f"{name}: {entry.id}.shared: {', '.join(missing)} unknown; known are {known}")
        if entry.easier is not None and entry.easier not in ids:
            wrong.append(f"{name}: {entry.id}.easier: {entry.easier} is not in the catalogue")
        if _LYING.intersection(entry.positions) and file.getting_up is None:
            wrong.append(f"{name}: {entry.id}: done lying, and nothing says how to get up")
    if wrong:
        raise RefusedError(*wrong)
    order = list(Group)
    entries = sorted(file.exercise, key=lambda entry: order.index(entry.group))
    return Catalogue({entry.id: _exercise(entry, file) for entry in entries})


def _twice(ids: Iterable[str]) -> list[str]:
    return [one for one, times in Counter(ids).items() if times > 1]


def _exercise(entry: ExerciseEntry, file: CatalogueFile) -> Exercise:
    return Exercise(
        id=entry.id,
        title=entry.title,
        group=entry.group,
        counted=entry.counted,
        strength=entry.strength,
        pelvic_floor=entry.pelvic_floor,
        loads=frozenset(entry.loads),
        positions=entry.positions,
        equipment=tuple(Equipment(one.thing, one.stand_in) for one in entry.equipment),
        cues=(*entry.cues, *(file.shared_cue[key] for key in entry.shared)),
        stop_if=(*file.stop_if, *entry.stop_if),
        getting_up=file.getting_up if _LYING.intersection(entry.positions) else None,
        easier=entry.easier,
    )


def with_own(added: Iterable[ExerciseEntry], reworded: Iterable[Rewording], name: str) -> Catalogue:
    """The packaged catalogue with a clinic's own exercises and words; `name` stands before every fault."""
    ours = packaged()
    words = {one.id: one for one in reworded}
    known = Catalogue({entry.id: _exercise(entry, ours) for entry in ours.exercise})
    wrong = []
    for absent in words.keys() - known.exercises.keys():
        near = known.nearest(absent)
        hint = f"; did you mean {near}?" if near else ""
        wrong.append(f"{name}: {absent}: not in the catalogue, so it cannot be re-worded{hint}")
    try:
        entries = (*(_reworded(entry, words.get(entry.id)) for entry in ours.exercise), *added)
        catalogue = compiled(ours.model_copy(update={"exercise": entries}), name)
    except RefusedError as fault:
        raise RefusedError(*wrong, *fault.faults) from None
    if wrong:
        raise RefusedError(*wrong)
    return catalogue


def _reworded(entry: ExerciseEntry, words: Rewording | None) -> ExerciseEntry:
    if words is None:
        return entry
    return entry.model_copy(
        update={
            "title": words.title or entry.title,
            "cues": words.cues or entry.cues,
            "stop_if": (*entry.stop_if, *words.also_stop_if),
        }
    )
