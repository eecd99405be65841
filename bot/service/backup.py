"""A backup in one file, made while the service runs, and its restore into an empty database.

A zip archive: `manifest.json` (format, schema revision, instant, rows and checksum of each table) and one
file of lines for each table. Private values stay sealed as they are, so the file is worth nothing without
DATA_KEYS, which are not in it. The same file goes into SQLite and PostgreSQL.
"""

import datetime as dt
import functools
import io
import json
import os
import uuid
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from bot.errors import RefusedError
from bot.store import copying
from bot.store.base import Tx

FORMAT = 1
MANIFEST = "manifest.json"
Progress = Callable[[str, int], None]


@dataclass(frozen=True, slots=True)
class Manifest:
    """What a backup says of itself. tables: rows and checksum of each, parents first."""

    revision: str
    made_at: dt.datetime
    tables: dict[str, tuple[int, str]]


def write(tx: Tx, path: Path, revision: str, now: dt.datetime, told: Progress) -> Manifest:
    """Write a backup, read it back, and only then give it its name; tells (table, rows) as it goes.

    tx: a transaction that sees one state of the database throughout. The file can be read by its owner alone.
    Raises RefusedError when the file cannot be written, or does not read back as it was written.
    """
    part = path.with_name(f".{path.name}.{uuid.uuid4().hex}.part")
    try:
        with os.fdopen(os.open(part, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600), "w+b") as file:
            sums = {}
            with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
                for name in copying.names():
                    sums[name] = _write_table(tx, archive, name)
                    told(name, sums[name][0])
                manifest = Manifest(revision, now, sums)
                archive.writestr(MANIFEST, json.dumps(_document(manifest), indent=1))
            file.flush()
            os.fsync(file.fileno())
        for name, expected in sums.items():
            _check(part, name, expected, lambda _: None)
        part.replace(path)
    except OSError as error:
        raise RefusedError(f"{path}: the backup cannot be written ({error.strerror})") from None
    finally:
        part.unlink(missing_ok=True)
    return manifest


def read(path: Path) -> Manifest:
    """A backup's own account; raises RefusedError for a file that is none, or of another format."""
    try:
        with zipfile.ZipFile(path) as archive:
            document = json.loads(archive.read(MANIFEST))
        if document["format"] != FORMAT:
            raise RefusedError(f"{path}: format {document['format']}; this program reads format {FORMAT}")
        return Manifest(
            str(document["revision"]),
            dt.datetime.fromisoformat(document["made_at"]),
            {name: (int(rows), str(checksum)) for name, (rows, checksum) in document["tables"].items()},
        )
    except OSError as error:
        raise RefusedError(f"{path}: cannot be read ({error.strerror})") from None
    except (zipfile.BadZipFile, KeyError, TypeError, ValueError):
        raise RefusedError(
            f"{path}: not a backup; expected a file that `programme-bot backup` made"
        ) from None


def load(tx: Tx, path: Path, manifest: Manifest, told: Progress) -> None:
    """Put a backup into empty tables and compare what is there afterwards with what the backup says.

    Raises RefusedError, naming the table, for tables that hold rows, lines that do not fit, or a checksum
    that differs; the caller's transaction then leaves nothing behind.
    """
    unknown = sorted(set(manifest.tables) ^ set(copying.names()))
    if unknown:
        raise RefusedError(f"{path}: its tables differ from this program's: {', '.join(unknown)}")
    taken = [name for name in copying.names() if copying.count(tx, name)]
    if taken:
        raise RefusedError(
            f"DATABASE_URL: the database is not empty ({', '.join(taken)} hold rows); expected a new one"
        )
    for name in copying.names():
        _check(path, name, manifest.tables[name], functools.partial(copying.load, tx, name))
        there = copying.Sum()
        for line in copying.lines(tx, name):
            there.add(line)
        if (there.rows, there.hex) != manifest.tables[name]:
            raise RefusedError(f"{path}: {name}: what was stored differs from the backup; nothing was kept")
        told(name, there.rows)


def _write_table(tx: Tx, archive: zipfile.ZipFile, name: str) -> tuple[int, str]:
    checksum = copying.Sum()
    with archive.open(f"{name}.jsonl", "w", force_zip64=True) as file:
        for line in copying.lines(tx, name):
            checksum.add(line)
            file.write(line.encode() + b"\n")
    return checksum.rows, checksum.hex


def _check(path: Path, name: str, expected: tuple[int, str], use: Callable[[Iterator[str]], Any]) -> None:
    """Hand a table's lines to whoever uses them, and compare their number and checksum with the manifest."""
    checksum = copying.Sum()

    def counted(file: io.TextIOWrapper) -> Iterator[str]:
        for line in file:
            checksum.add(line.rstrip("\n"))
            yield line

    try:
        with zipfile.ZipFile(path) as archive, archive.open(f"{name}.jsonl") as member:
            lines = counted(io.TextIOWrapper(member, encoding="utf-8", newline="\n"))
            use(lines)
            for _ in lines:
                pass
    except (KeyError, ValueError, zipfile.BadZipFile, EOFError) as error:
        raise RefusedError(f"{path}: {name}: damaged ({type(error).__name__}); nothing was kept") from None
    if (checksum.rows, checksum.hex) != expected:
        raise RefusedError(f"{path}: {name}: damaged (checksum differs); nothing was kept")


def _document(manifest: Manifest) -> dict[str, Any]:
    return {
        "format": FORMAT,
        "revision": manifest.revision,
        "made_at": manifest.made_at.isoformat(),
        "tables": {name: list(expected) for name, expected in manifest.tables.items()},
    }
