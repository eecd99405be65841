"""Parts of the reference that come from settings, the command line, chat, tables, figures and rules."""

import argparse
import tomllib
from collections.abc import Iterator, Mapping
from typing import Any, get_origin, get_type_hints

from prometheus_client.parser import text_string_to_metric_families
from pydantic_core import PydanticUndefined

from bot import commands, logs, settings
from bot.conversation import copy, reach
from bot.domain.people import Role
from bot.reports import signs as sign_report
from bot.rules import limits as limits_file
from bot.rules import own_signs, rulebook
from bot.rules import templates as template_data
from bot.service.gauges import Gauges
from bot.store.tables import metadata
from bot.store.types import Instant, Sealed
from bot.transport import metrics as metrics_page
from tests.docs.marks import code, plain, table
from tests.docs.tables_in_words import ABOUT

NEEDED_BY: Mapping[type[settings.DatabaseSettings], str] = {
    settings.DatabaseSettings: "every verb that reads or writes the database",
    settings.LinkSettings: "`serve`, and verbs that print an invite",
    settings.ServeSettings: "`serve`",
}


def settings_table() -> str:
    """Every setting: what for, what shape, and its default."""
    rows: dict[str, list[str]] = {}
    for kind, needed_by in NEEDED_BY.items():
        for name, field in kind.model_fields.items():
            # What a wider kind asks for as well stands with the verbs that need it already.
            rows.setdefault(name, _setting(name.upper(), field.default, needed_by))
    return table(["Setting", "What for", "Expected", "Default", "Read by"], rows.values())


def _setting(name: str, default: object, needed_by: str) -> list[str]:
    shown = "none" if default in {None, PydanticUndefined} else code(str(default))
    made = settings.MADE_DEFAULTS.get(name, shown)
    return [code(name), settings.MEANING[name], settings.EXPECTED[name], made, needed_by]


def verbs() -> str:
    """Every verb of the command line with its arguments."""
    (found,) = (
        action for action in commands.make_parser()._actions if isinstance(action, argparse._SubParsersAction)
    )
    return "\n\n".join(_verb(name, parser) for name, parser in found.choices.items())


def _verb(name: str, parser: argparse.ArgumentParser) -> str:
    arguments = [action for action in parser._actions if not isinstance(action, argparse._HelpAction)]
    usage = " ".join(["programme-bot", name, *(_in_usage(action) for action in arguments)])
    parts = [f"## {name}", str(parser.description), f"```text\n{usage}\n```"]
    rows = [[code(_shape(action)), _about(action)] for action in arguments]
    return "\n\n".join([*parts, table(["Argument", "Meaning"], rows)] if rows else parts)


def _shape(action: argparse.Action) -> str:
    value = action.metavar or (action.dest.upper() if action.option_strings else action.dest)
    value = value if isinstance(value, str) else " ".join(value)
    if action.choices is not None and action.metavar is None:
        value = "|".join(map(str, action.choices))
    if action.nargs in {"+", "*"}:
        value += " ..."
    if not action.option_strings:
        return value
    return action.option_strings[0] + ("" if action.nargs == 0 else f" {value}")


def _in_usage(action: argparse.Action) -> str:
    optional = not action.required if action.option_strings else action.nargs in {"?", "*"}
    return f"[{_shape(action)}]" if optional else _shape(action)


def _about(action: argparse.Action) -> str:
    return plain((action.help or " ") % {"default": action.default})


def _commands(role: Role) -> str:
    rows = [
        [code(f"/{name}"), copy.as_written("en", key) if copy.has("en", key) else "not in the menu"]
        for name, roles in reach.COMMANDS.items()
        if role in roles
        for key in [f"command.{name}"]
    ]
    return table(["Command", "In the menu"], rows)


def commands_client() -> str:
    """What a client may ask for by command."""
    return _commands(Role.CLIENT)


def commands_therapist() -> str:
    """What a therapist may ask for by command."""
    return _commands(Role.THERAPIST)


def commands_fallback() -> str:
    """What a fallback contact or a colleague may ask for by command."""
    return _commands(Role.FALLBACK)


def commands_administrator() -> str:
    """What a clinic's administrator may ask for by command."""
    return _commands(Role.ADMINISTRATOR)


def tables() -> str:
    """Every table of the database, parents first."""
    parts: list[str] = []
    for one in metadata.sorted_tables:
        parts += [f"## {one.name}", ABOUT.get(one.name, "")]
        parts.append(table(["Column", "Holds", "Notes"], _columns(one.columns)))
    return "\n\n".join(parts)


def _columns(columns: Any) -> Iterator[list[str]]:
    for column in columns:
        match column.type:
            case Sealed():
                kind = "**sealed**"
            case Instant():
                kind = "instant, UTC"
            case _:
                kind = type(column.type).__name__.removesuffix("_").lower()
        notes = ["key"] if column.primary_key else []
        notes += [f"of `{key.target_fullname}`" for key in column.foreign_keys]
        notes += ["may be empty"] if column.nullable else []
        yield [code(column.name), kind, ", ".join(notes)]


def metrics() -> str:
    """Every figure that /metrics shows, from a page of it."""
    counts = {"example": 1}
    hints = get_type_hints(Gauges)
    gauges: Any = {name: counts if get_origin(kind) is dict else 1 for name, kind in hints.items()}
    page = metrics_page.rendered(Gauges(**gauges))
    rows = [
        [code(family.name), ", ".join(family.samples[0].labels) or "none", family.documentation]
        for family in text_string_to_metric_families(page.decode())
    ]
    return table(["Figure", "Label", "What it tells"], rows)


def log_fields() -> str:
    """The fields a line of the log may have."""
    return ", ".join(code(field) for field in sorted(logs.FIELDS)) + "."


def signs() -> str:
    """Every warning sign with its source."""
    rules = own_signs.load(None).rules
    rows = []
    for sign in sign_report.ordered(rules):
        told = sign_report.row(sign, frozenset())
        rows.append(
            [
                plain(str(told["title"])),
                code(str(told["id"])),
                str(told["level"]).replace("_", " "),
                str(told["route"]).replace("_", " "),
                f"{plain(str(told['source']))} ({str(told['source_was']).replace('_', ' ')})",
            ]
        )
    return f"Version {rules.version}.\n\n" + table(["Sign", "Id", "Level", "Whom to contact", "Source"], rows)


def limits() -> str:
    """Every limit and figure with its source."""
    with limits_file.FILE.open("rb") as file:
        document = tomllib.load(file)
    rows = [
        [
            code(place),
            code(_value(entry)),
            f"{plain(entry['source'])}{' (read)' if entry.get('source_read') else ''}",
        ]
        for place, entry in _entries(document, "")
    ]
    return table(["Figure", "Value", "Source"], rows)


def _value(entry: Mapping[str, Any]) -> str:
    return ", ".join(
        f"{value}" if key == "value" else f"{key} {' '.join(value) if isinstance(value, list) else value}"
        for key, value in entry.items()
        if key not in {"source", "source_read"}
    )


def _entries(document: Any, place: str) -> Iterator[tuple[str, Mapping[str, Any]]]:
    if isinstance(document, list):
        for number, one in enumerate(document, start=1):
            yield from _entries(one, f"{place} {number}")
    elif isinstance(document, dict):
        if "source" in document:
            yield place, document
            return
        for key, value in document.items():
            yield from _entries(value, f"{place}.{key}" if place else key)


def exercises() -> str:
    """Every exercise there is to prescribe."""
    rows = [
        [
            code(one.id),
            one.title,
            one.group.value.replace("-", " "),
            ", ".join(load.value.replace("-", " ") for load in sorted(one.loads)) or "none",
            ", ".join(position.value.replace("-", " ") for position in one.positions),
        ]
        for one in rulebook.packaged().catalogue.exercises.values()
    ]
    return table(["Id", "Exercise", "Group", "Loads", "Positions"], rows)


def templates() -> str:
    """Every template that the form in chat starts from."""
    rows = [[code(one.id), one.title] for one in template_data.load().templates]
    return table(["Template", "For"], rows)
