"""The files of the warning rules: their shape, checked before a rule is used.

The shapes are pydantic models so that their JSON Schema can be published (`schema()`).
"""

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from bot.domain.levels import Level
from bot.domain.warning_scope import Denial, Reach
from bot.domain.warning_signs import Handling, Route, Stops
from bot.errors import RefusedError

ID_SHAPE = r"^[a-z][a-z_]{1,39}$"
LARGEST_FILE_BYTES = 256 * 1024

Phrase = Annotated[str, Field(min_length=2, max_length=2000)]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class SayingEntry(_Strict):
    """Phrases that tell of the sign at one level. Level and route default to the sign's own."""

    level: Level | None = None
    sure: bool = True
    route: Route | None = None
    phrases: Annotated[tuple[Phrase, ...], Field(min_length=1)]


class SignEntry(_Strict):
    """One warning sign; what each field means stands at `bot.domain.warning_signs.Sign`.

    lowered: what is left of the sign when something denies it, by denial and then by level, where that
    differs from the general rule of `rules.toml`; "none" leaves nothing.
    """

    id: str = Field(pattern=ID_SHAPE)
    title: str = Field(min_length=3, max_length=60)
    level: Level
    route: Route
    handling: Handling = Handling.ORDINARY
    stops: Stops
    pauses_nudges: bool
    never_lowered: bool = False
    source: str = Field(min_length=5, max_length=300)
    source_read: bool
    says: Annotated[tuple[SayingEntry, ...], Field(min_length=1)]
    look_alikes: tuple[Phrase, ...] = ()
    lowered: Mapping[Denial, Mapping[Level, str]] = {}


class CombinationEntry(_Strict):
    """Signs that together are worse than each alone."""

    together: Annotated[tuple[str, ...], Field(min_length=2)]
    sign: str
    level: Level
    route: Route


class SecondEarEntry(_Strict):
    """Clues that add up to an emergency where no phrase fits; see `bot.domain.warning_leaning`.

    speaks_for: points of each clue by the sign it speaks for. against: points of clues that speak for none.
    """

    base: int
    floor: int = Field(ge=1)
    speaks_for: Mapping[str, Mapping[str, int]]
    against: Mapping[str, int] = {}


class CueEntry(_Strict):
    """Words that deny, and how far."""

    denial: Denial
    reach: Reach
    words: int = Field(default=0, ge=0, le=20)
    past_subject: bool = False
    phrases: Annotated[tuple[Phrase, ...], Field(min_length=1)]


class RulesFile(_Strict):
    """Any file of a rule set. The files of a folder are read together; each part may stand in any of them."""

    version: str | None = Field(default=None, pattern=r"^\d{4}\.\d{1,3}$")
    language: str | None = Field(default=None, pattern=r"^[a-z]{2}$")
    sign: tuple[SignEntry, ...] = ()
    combination: tuple[CombinationEntry, ...] = ()
    lowered: Mapping[Denial, Mapping[Level, str]] = {}
    families: Mapping[str, tuple[str, ...]] = {}
    same: Mapping[str, str] = {}
    words: Mapping[str, tuple[str, ...]] = {}
    cue: tuple[CueEntry, ...] = ()
    sham: tuple[Phrase, ...] = ()
    figure: tuple[Phrase, ...] = ()
    second_ear: SecondEarEntry | None = None

    @model_validator(mode="after")
    def _lowered_levels(self) -> "RulesFile":
        known = {level.value for level in Level} | {"none"}
        for table in (self.lowered, *(sign.lowered for sign in self.sign)):
            for by_level in table.values():
                for left in by_level.values():
                    if left not in known:
                        raise ValueError(f"lowered: {left!r} is not one of {', '.join(sorted(known))}")
        return self


def schema() -> dict[str, Any]:
    """The JSON Schema of a rules file."""
    return RulesFile.model_json_schema()


def read(path: Path) -> RulesFile:
    """One file, checked. Raises RefusedError naming file, sign and field."""
    if path.stat().st_size > LARGEST_FILE_BYTES:
        raise RefusedError(f"{path.name}: larger than {LARGEST_FILE_BYTES} bytes")
    try:
        raw = tomllib.loads(path.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as fault:
        raise RefusedError(f"{path.name}: {fault}") from fault
    try:
        return RulesFile.model_validate(raw)
    except ValidationError as fault:
        lines = [f"{path.name}: {_where(raw, error['loc'])}: {error['msg']}" for error in fault.errors()]
        raise RefusedError(*lines) from fault


def _where(raw: Mapping[str, Any], place: tuple[int | str, ...]) -> str:
    """A place in the file in words, with the sign's own id in place of its number."""
    if len(place) > 1 and place[0] == "sign" and isinstance(place[1], int):
        name = raw["sign"][place[1]].get("id", f"sign {place[1] + 1}")
        return ".".join(str(step) for step in (name, *place[2:]))
    return ".".join(str(step) for step in place) or "file"
