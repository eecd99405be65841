"""The made parts of the reference pages: `python -m tests.docs.reference` writes them anew.

A page in `docs/` marks a part with `<!-- made: NAME -->` and `<!-- end -->`; what stands between is replaced
by what the code says. `--check` only tells which pages are not current.
"""

import argparse
import re
import sys
from collections.abc import Callable, Mapping
from pathlib import Path

from tests.docs import from_code, from_schemas
from tests.rules.checkout import ROOT

DOCS = ROOT / "docs"
PART = re.compile(r"(?s)(<!-- made: ([\w-]+) -->\n).*?(<!-- end -->)")

PARTS: Mapping[str, Callable[[], str]] = {
    "settings": from_code.settings_table,
    "verbs": from_code.verbs,
    "commands-client": from_code.commands_client,
    "commands-therapist": from_code.commands_therapist,
    "commands-fallback": from_code.commands_fallback,
    "commands-administrator": from_code.commands_administrator,
    "tables": from_code.tables,
    "metrics": from_code.metrics,
    "log-fields": from_code.log_fields,
    "signs": from_code.signs,
    "limits": from_code.limits,
    "exercises": from_code.exercises,
    "templates": from_code.templates,
    "prescription": from_schemas.prescription,
    "own": from_schemas.own,
    "own-signs": from_schemas.own_signs_file,
    "table-columns": from_schemas.table_columns,
}


def current(text: str) -> str:
    """A page's text with every made part as the code has it now; raises KeyError for an unknown part."""
    return PART.sub(lambda part: f"{part[1]}\n{PARTS[part[2]]().strip()}\n\n{part[3]}", text)


def pages() -> dict[Path, str]:
    """Every page that has a made part, and what it should say."""
    texts = {page: page.read_text(encoding="utf-8") for page in sorted(DOCS.rglob("*.md"))}
    return {page: current(text) for page, text in texts.items() if PART.search(text)}


def main() -> int:
    """Write the pages, or with `--check` name those that are behind; 1 when there are any."""
    parser = argparse.ArgumentParser(prog="python -m tests.docs.reference", description=__doc__)
    parser.add_argument("--check", action="store_true", help="change nothing; 1 if a page is not current")
    options = parser.parse_args()
    behind = [page for page, text in pages().items() if page.read_text(encoding="utf-8") != text]
    for page in behind:
        print(page.relative_to(ROOT))
        if not options.check:
            page.write_text(pages()[page], encoding="utf-8")
    return 1 if options.check and behind else 0


if __name__ == "__main__":
    sys.exit(main())
