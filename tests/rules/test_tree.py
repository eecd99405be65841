"""What stands where, and how long a file may be."""

import subprocess
from pathlib import Path

from tests.rules.checkout import ROOT, committed

TOP = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml"}
TOP_FOLDERS = {"bot", "tests", "migrations", "demo", "docs"}
LONGEST = 400
# A longer file needs a reason here; the entry goes when the file gets shorter.
LONGER: dict[str, str] = {
    "bot/domain/reading_english.py": "words of one language, hardly any code",
    "bot/domain/warning_signs.py": "the shape of the rules and their compiling, read side by side",
}
COMMANDS = {"demo/run", "tests/run", ".ci/run"}


def misplaced(paths: tuple[str, ...]) -> set[str]:
    """What lies at the top level and should not."""
    tops = {(first, bool(rest)) for first, _, rest in (path.partition("/") for path in paths)}
    return {
        top
        for top, is_folder in tops
        if not top.startswith(".") and top not in (TOP_FOLDERS if is_folder else TOP)
    }


def too_long(root: Path, paths: tuple[str, ...]) -> dict[str, int]:
    """The program's source files that are over the limit, with their lengths."""
    lengths = {
        path: len((root / path).read_text(encoding="utf-8").splitlines())
        for path in paths
        if path.startswith("bot/") and path.endswith(".py")
    }
    return {path: length for path, length in lengths.items() if length > LONGEST}


def test_the_top_level_holds_only_what_it_should() -> None:
    assert misplaced(committed()) == set()


def test_a_stray_file_at_the_top_is_found() -> None:
    paths = ("bot/clock.py", "README.md", ".gitignore", "notes.txt", "scripts/x.py", "docs")
    assert misplaced(paths) == {"notes.txt", "scripts", "docs"}


def test_long_files_have_a_reason() -> None:
    found = too_long(ROOT, committed())
    assert set(found) == set(LONGER), f"over {LONGEST} lines, or no longer so: {found}"


def test_a_long_file_is_found(tmp_path: Path) -> None:
    (tmp_path / "bot").mkdir()
    (tmp_path / "bot/long.py").write_text("x = 1\n" * (LONGEST + 1))
    (tmp_path / "bot/short.py").write_text("x = 1\n" * LONGEST)
    assert too_long(tmp_path, ("bot/long.py", "bot/short.py")) == {"bot/long.py": LONGEST + 1}


def test_the_commands_can_be_run_as_they_are() -> None:
    """A lost execute bit is seen only on the next machine."""
    listed = subprocess.run(
        ["git", "ls-files", "--stage", *COMMANDS], cwd=ROOT, check=True, capture_output=True, text=True
    )
    modes = {line.split("\t")[1]: line.split()[0] for line in listed.stdout.splitlines()}
    assert modes == dict.fromkeys(COMMANDS, "100755")
