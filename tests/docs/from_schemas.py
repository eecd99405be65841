"""Parts of the reference that come from the JSON Schemas of the files, and from the table of clients."""

import importlib
import inspect
import re
from collections.abc import Iterator, Mapping
from typing import Any

from bot.rules import enrolment_table, own_signs, prescription_file, rulebook
from tests.docs.marks import code, plain, table

Schema = Mapping[str, Any]
ELSEWHERE = re.compile(r"; (?:what each field means stands at|see) `(bot\.[\w.]+)`\.")
CELLS = {
    "TEXT": "text",
    "WHOLE": "whole number",
    "NUMBER": "number",
    "FLAG": "yes or no",
    "LIST": "several, with blanks or semicolons between",
}


def prescription() -> str:
    """The fields of a prescription file."""
    return _document(prescription_file.schema())


def own() -> str:
    """The fields of a clinic's own exercises, words and limits."""
    return _document(rulebook.own_schema())


def own_signs_file() -> str:
    """The fields of a clinic's own warning signs."""
    return _document(own_signs.schema())


def _document(schema: Schema) -> str:
    parts = [_fields("the whole file", schema)]
    parts += [_fields(name, one) for name, one in schema.get("$defs", {}).items() if "properties" in one]
    words = [
        [name, ", ".join(code(str(value)) for value in one["enum"])]
        for name, one in schema.get("$defs", {}).items()
        if "enum" in one
    ]
    return "\n\n".join([*parts, "**Words that stand for a choice**", table(["Name", "One of"], words)])


def _fields(name: str, schema: Schema) -> str:
    required = set(schema.get("required", ()))
    rows = [
        [code(field), _kind(one), "yes" if field in required else "", _default(one)]
        for field, one in schema["properties"].items()
    ]
    about = _about(str(schema.get("description", "")))
    return f"**{name}**: {about}\n\n{table(['Field', 'Holds', 'Needed', 'If left out'], rows)}"


def _about(text: str) -> str:
    """What a part is; where it points to a class of ours, what that says of the fields."""
    found = ELSEWHERE.search(text)
    if found:
        module, _, name = found[1].rpartition(".")
        doc = inspect.getdoc(getattr(importlib.import_module(module), name)) or ""
        text = ELSEWHERE.sub(".", text) + "\n" + doc.partition("\n\n")[2]
    return plain(" ".join(text.split()))


def _default(field: Schema) -> str:
    default = field.get("default")
    if default is None or default in ([], {}, ""):
        return ""
    if isinstance(default, Mapping):
        return "; ".join(f"{name}: {_default({'default': one})}" for name, one in default.items())
    if isinstance(default, list):
        return ", ".join(code(str(one)) for one in default)
    return code(str(default).lower() if isinstance(default, bool) else str(default))


def _kind(field: Schema) -> str:
    return ", ".join(dict.fromkeys(_kinds(field)))


def _kinds(field: Schema) -> Iterator[str]:
    if "$ref" in field:
        yield field["$ref"].rpartition("/")[2]
    elif "anyOf" in field:
        for one in field["anyOf"]:
            if one.get("type") != "null":
                yield from _kinds(one)
    elif "const" in field or "enum" in field:
        yield " or ".join(code(str(one)) for one in field.get("enum", [field.get("const")]))
    elif field.get("type") == "array" and "items" in field:
        yield f"list of {_kind(field['items'])}"
    elif field.get("type") == "array":
        yield "list"
    elif field.get("type") == "object" and isinstance(field.get("additionalProperties"), Mapping):
        yield f"{_kind(field['additionalProperties'])}, by name"
    else:
        yield _bounded(field)


def _bounded(field: Schema) -> str:
    kind = {"string": "text", "integer": "whole number", "boolean": "true or false"}.get(
        str(field.get("type")), str(field.get("type", "any"))
    )
    if field.get("format") in {"date", "time"}:
        kind = str(field["format"])
    low, high = field.get("minimum"), field.get("maximum")
    if low is not None and high is not None:
        return f"{kind}, {low} to {high}"
    if "maxLength" in field:
        return f"{kind}, at most {field['maxLength']} characters"
    return plain(kind)


def table_columns() -> str:
    """The columns of the table of clients; numbered ones once."""
    rows = [
        [code(name.removesuffix("_1") + "_N" if name.endswith("_1") else name), CELLS[column.cell.name]]
        for name, column in enrolment_table.COLUMNS.items()
        if not name[-1].isdigit() or name.endswith("_1")
    ]
    return table(["Column", "Holds"], rows)
