"""How long it takes to validate many prescription files, beside plain TOML parsing of the same files."""

import time
import tomllib
from pathlib import Path

import pytest

from bot.rules import prescription_check, prescription_file, rulebook
from tests.rules.checkout import ROOT

LIMIT_S_FOR_10_000 = 10.0


def many(folder: Path, number: int) -> list[Path]:
    """Files of all the valid examples and the demo's clients in turn, each for a client of her own."""
    folders = (ROOT / "docs/examples", ROOT / "demo/prescriptions")
    every = [path.read_text(encoding="utf-8") for one in folders for path in sorted(one.glob("*.toml"))]
    sources = [text for text in every if "# Refused" not in text]
    assert len(sources) >= 13
    paths = []
    for n in range(number):
        path = folder / f"{n}.toml"
        head, _, rest = sources[n % len(sources)].partition('client = "')
        path.write_text(f'{head}client = "N{n}"{rest[rest.index(chr(34)) + 1 :]}', encoding="utf-8")
        paths.append(path)
    return paths


def measure(folder: Path, number: int) -> tuple[float, float]:
    """CPU seconds for validating every file with its gates, and for parsing them with tomllib alone."""
    paths = many(folder, number)
    rules = rulebook.packaged()
    started = time.process_time()
    clients = set()
    for path in paths:
        file = prescription_file.read_any(path, rules)
        prescription_check.refuse_unless_fit(file, rules, str(path))
        clients.add(file.client)
    ours_s = time.process_time() - started
    assert len(clients) == number
    started = time.process_time()
    for path in paths:
        tomllib.loads(path.read_text(encoding="utf-8"))
    return ours_s, time.process_time() - started


def report(number: int, ours_s: float, peer_s: float) -> str:
    return (
        f"validating prescription files: n={number} ours_s={ours_s:.2f} peer_s={peer_s:.2f} "
        f"ratio={ours_s / peer_s:.2f} "
        "(peer: tomllib alone on the same files; CPU seconds of one process, files cached)"
    )


def test_a_few_hundred_files(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The small sibling: the same files, a share of the time."""
    ours_s, peer_s = measure(tmp_path, 200)
    with capsys.disabled():
        print(f"\n{report(200, ours_s, peer_s)}")
    assert ours_s < LIMIT_S_FOR_10_000 * 200 / 10_000 * 4  # so few files also pay for the start


@pytest.mark.slow
def test_ten_thousand_files(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    ours_s, peer_s = measure(tmp_path, 10_000)
    with capsys.disabled():
        print(f"\n{report(10_000, ours_s, peer_s)}")
    assert ours_s < LIMIT_S_FOR_10_000
