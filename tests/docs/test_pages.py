"""The pages build without a warning, links lead somewhere, what is made from the code is current."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

from bot.store.tables import metadata
from tests.docs import reference, tables_in_words
from tests.rules.checkout import ROOT, committed

SITE = ROOT / "tests/docs/site.yml"
TOP = ("README.md", "DEVELOPERS.md")
LINK = re.compile(r"\]\(([^)#\s]*)(?:#([^)\s]+))?\)")
FENCE = re.compile(r"(?ms)^```.*?^```|`[^`\n]+`")


def build(folder: Path, pages: Path = ROOT / "docs") -> subprocess.CompletedProcess[str]:
    """Build the pages into a folder; every warning of the builder is a failure, and any of Python's."""
    settings = SITE.read_text(encoding="utf-8").replace("../../docs", str(pages))
    config = folder / "site.yml"
    config.write_text(settings.replace("custom_dir: theme", f"custom_dir: {SITE.parent / 'theme'}"))
    command = [sys.executable, "-W", "error", "-m", "properdocs", "build", "--strict", "-f", str(config)]
    return subprocess.run(
        [*command, "-d", str(folder / "site")], cwd=folder, check=False, capture_output=True, text=True
    )


def broken(page: str, text: str) -> list[str]:
    """The links of a page at the top that lead to no file, or to no heading of it."""
    found = []
    for target, anchor in LINK.findall(FENCE.sub("", text)):
        if "://" in target:
            continue
        file = ROOT / (target or page)
        if not file.exists() or (anchor and anchor not in anchors(file)):
            found.append(f"{page}: {target}#{anchor}")
    return found


def anchors(file: Path) -> set[str]:
    """The anchors of a page's headings."""
    headings = re.findall(r"(?m)^#+ (.+)$", FENCE.sub("", file.read_text(encoding="utf-8")))
    return {re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-") for heading in headings}


def test_the_pages_build_without_a_warning(tmp_path: Path) -> None:
    done = build(tmp_path)
    assert done.returncode == 0, done.stderr
    assert "WARNING" not in done.stderr
    pages = {path.removeprefix("docs/") for path in committed() if re.match(r"docs/.*\.md$", path)}
    built = {str(file.relative_to(tmp_path / "site")) for file in (tmp_path / "site").rglob("*.html")}
    assert built == {re.sub(r"README$", "index", page.removesuffix(".md")) + ".html" for page in pages}


@pytest.mark.parametrize(
    ("planted", "said"),
    [
        ("[x](nowhere.md)", "nowhere.md"),
        ("[x](how-to/enrol.md#nowhere)", "nowhere"),
        ("![x](pictures/nowhere.png)", "nowhere.png"),
    ],
)
def test_a_broken_link_fails_the_build(tmp_path: Path, planted: str, said: str) -> None:
    pages = tmp_path / "docs"
    (pages / "how-to").mkdir(parents=True)
    (pages / "how-to/enrol.md").write_text("# Enrol\n")
    (pages / "index.md").write_text(f"# Index\n\n{planted}\n")
    done = build(tmp_path, pages)
    assert done.returncode != 0
    assert said in done.stderr


@pytest.mark.parametrize("page", TOP)
def test_links_at_the_top_lead_somewhere(page: str) -> None:
    text = (ROOT / page).read_text(encoding="utf-8")
    assert LINK.search(text)
    assert broken(page, text) == []
    assert len(broken(page, "[a](docs/nowhere.md) [b](README.md#nowhere) [c](docs/index.md)")) == 2


def test_what_is_made_from_the_code_is_current() -> None:
    """Mended by `python -m tests.docs.reference`."""
    behind = [
        str(page.relative_to(ROOT))
        for page, text in reference.pages().items()
        if page.read_text(encoding="utf-8") != text
    ]
    assert behind == []


def test_every_part_is_shown_and_a_changed_one_is_noticed() -> None:
    text = "".join(page.read_text(encoding="utf-8") for page in reference.pages())
    assert {name for _, name, _ in reference.PART.findall(text)} == set(reference.PARTS)
    assert reference.current("<!-- made: log-fields -->\n\n`name`\n\n<!-- end -->") != (
        "<!-- made: log-fields -->\n\n`name`\n\n<!-- end -->"
    )


def test_every_table_is_explained() -> None:
    assert set(tables_in_words.ABOUT) == set(metadata.tables)
