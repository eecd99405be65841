"""The starting templates of the guided form, read from the data that travels with the program."""

import functools
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Final

from pydantic import Field, ValidationError, field_validator

from bot.domain.findings import BirthMode
from bot.domain.template import AsksBirth, Template, Templates
from bot.errors import RefusedError
from bot.rules import faults
from bot.rules.faults import Strict
from bot.rules.programme_models import MOST_SETS_A_DAY, AdjunctEntry, CheckIn, ContractionsEntry

FILE: Final = Path(__file__).parent / "template_data" / "templates.toml"
LARGEST_FILE_BYTES = 64 * 1024
ASKS: Final = frozenset({"distance", "stage", "leakage"})
LETTING_GO: Final = (
    {"exercise": "breathing", "repetitions": 6, "hold_s": 4, "rest_s": 4, "position": "lying"},
    {"exercise": "pelvic-floor-let-go", "repetitions": 6, "hold_s": 4, "rest_s": 4, "position": "lying"},
)
"""What every template offers where no dose may be proposed (common practice, no source)."""


class TemplateEntry(Strict):
    """One template; what each field means stands at `bot.domain.template.Template`."""

    id: Annotated[str, Field(pattern=r"^[a-z][a-z-]{2,15}$")]
    title: Annotated[str, Field(min_length=5, max_length=80)]
    birth: AsksBirth
    birth_mode: BirthMode | None = None
    asks: tuple[str, ...] = ()
    strength: bool = True
    sets_a_day: Annotated[int, Field(ge=1, le=6, strict=True)] = 3
    review_weeks: Annotated[int, Field(ge=1, le=26, strict=True)]
    beside: tuple[ContractionsEntry, ...] = ()
    without_dose: tuple[ContractionsEntry, ...] = tuple(
        ContractionsEntry.model_validate(entry) for entry in LETTING_GO
    )
    adjuncts: tuple[AdjunctEntry, ...] = ()
    questions: tuple[str, ...] = ()

    @field_validator("asks")
    @classmethod
    def _known(cls, value: tuple[str, ...]) -> tuple[str, ...]:
        unknown = set(value) - ASKS
        if unknown:
            raise ValueError(f"{', '.join(sorted(unknown))}; expected some of {', '.join(sorted(ASKS))}")
        return value

    @field_validator("questions")
    @classmethod
    def _questions(cls, value: tuple[str, ...]) -> tuple[str, ...]:
        return CheckIn(questions=value).questions


class TemplatesFile(Strict):
    """The file of templates; times by the number of sets a day."""

    times: Mapping[Annotated[str, Field(pattern=r"^[1-9]$")], tuple[str, ...]]
    template: Annotated[tuple[TemplateEntry, ...], Field(min_length=1, max_length=MOST_SETS_A_DAY)]


@functools.cache
def load() -> Templates:
    """The templates that travel with the program. Raises RefusedError, a line for each fault."""
    expected = "starting templates in TOML"
    document = faults.read_toml(faults.read_text(FILE, LARGEST_FILE_BYTES, expected), FILE.name, expected)
    try:
        file = TemplatesFile.model_validate(document)
    except ValidationError as error:
        found = faults.lines(error, "a template", faults.field_names(TemplatesFile))
        raise RefusedError(
            *(faults.line(FILE.name, faults.dotted(place), message) for place, message in found)
        ) from None
    return Templates(
        tuple(_template(entry) for entry in file.template),
        {int(sets): times for sets, times in file.times.items()},
    )


def _template(entry: TemplateEntry) -> Template:
    def plain(
        entries: tuple[ContractionsEntry, ...] | tuple[AdjunctEntry, ...],
    ) -> tuple[Mapping[str, object], ...]:
        return tuple(one.model_dump(mode="json", exclude_none=True) for one in entries)

    return Template(
        id=entry.id,
        title=entry.title,
        birth=entry.birth,
        birth_mode=entry.birth_mode,
        asks=entry.asks,
        strength=entry.strength,
        sets_a_day=entry.sets_a_day,
        review_weeks=entry.review_weeks,
        beside=plain(entry.beside),
        without_dose=plain(entry.without_dose),
        adjuncts=plain(entry.adjuncts),
        questions=entry.questions,
    )
