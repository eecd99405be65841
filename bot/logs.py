"""Structured logs: a fixed event name and fields from a short list. Never a name, a text or a finding."""

import contextlib
import json
import logging
import re
import sys
import threading
import traceback
from collections.abc import MutableMapping
from pathlib import Path
from types import TracebackType
from typing import Any

import structlog

TOKEN = re.compile(r"\d{5,}:[A-Za-z0-9_-]{10,}")  # a bot token, in whatever text it turns up
LONGEST_VALUE = 200
# Identifiers of ours, counts and kinds; a field that is not listed is left out rather than trusted.
FIELDS = frozenset(
    {
        "event", "level", "timestamp", "logger", "update", "client", "alert", "message", "kind", "count",
        "state", "seconds", "error", "where", "setting", "address", "revision", "signal", "tries", "rules",
        "mode", "zone", "version", "missing",
    },
)  # fmt: skip
_OURS = Path(__file__).parent

Fields = MutableMapping[str, Any]


def _only_known_fields(logger: object, name: str, fields: Fields) -> Fields:
    del logger, name
    return {key: _plain(value) for key, value in fields.items() if key in FIELDS}


def _plain(value: object) -> str | int | float | None:
    """A value as it may be written: no objects, which would bring whatever they hold, and no long texts."""
    if value is None or isinstance(value, bool | int | float):
        return value
    text = str(value) if isinstance(value, str) else f"<{type(value).__name__}>"
    return TOKEN.sub("[token]", text)[:LONGEST_VALUE]


class _Lines:
    """Writes to what standard error is at that moment. A full disk behind it must stop no other work."""

    def msg(self, line: str) -> None:
        """Write a line, where that is possible."""
        with contextlib.suppress(OSError, ValueError):
            sys.stderr.write(line + "\n")
            sys.stderr.flush()

    debug = info = warning = error = critical = msg


def _configure(level: int) -> None:
    structlog.configure(
        processors=[
            structlog.processors.add_log_level,
            structlog.processors.TimeStamper(fmt="iso", utc=True),
            _only_known_fields,
            structlog.processors.JSONRenderer(),
        ],
        wrapper_class=structlog.make_filtering_bound_logger(level),
        logger_factory=lambda *_: _Lines(),
        cache_logger_on_first_use=False,
    )


def set_up(level: str) -> None:
    """Send logs to standard error, one JSON object a line, from `level` up.

    What libraries log, warn of, or crash with is cut down to its kind: the texts hold addresses with the bot
    token, whole updates, bound values. The two that report every request or run are silent below ERROR.
    """
    _configure(logging.getLevelNamesMapping()[level.upper()])
    logging.basicConfig(level=logging.WARNING, handlers=[_OneLine()], force=True)
    logging.captureWarnings(capture=True)
    for noisy in ("httpx", "httpcore", "telegram", "apscheduler", "uvicorn.access"):
        logging.getLogger(noisy).setLevel(logging.ERROR)
    sys.excepthook = _crashed
    threading.excepthook = _thread_crashed


class _OneLine(logging.Handler):
    """A library's record as one JSON line: its logger, its level and the kind of error, never its text."""

    def emit(self, record: logging.LogRecord) -> None:
        """Write the line."""
        line = {"event": "library_log", "logger": record.name, "level": record.levelname.lower()}
        if record.exc_info and record.exc_info[1] is not None:
            line |= {"error": type(record.exc_info[1]).__name__, "where": place(record.exc_info[1])}
        _Lines().msg(json.dumps(line))


def _crashed(kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
    """The last words of a program that ends on an error nobody caught; a traceback would quote its text."""
    del trace
    get().critical("crashed", error=kind.__name__, where=place(error))


def _thread_crashed(told: threading.ExceptHookArgs) -> None:
    if told.exc_value is not None:
        _crashed(told.exc_type, told.exc_value, told.exc_traceback)


def place(error: BaseException) -> str:
    """Where an error came up: the innermost line of ours it passed, as file:line."""
    frames = [(Path(f.f_code.co_filename), line) for f, line in traceback.walk_tb(error.__traceback__)]
    ours = [(path, line) for path, line in frames if path.is_relative_to(_OURS)]
    if ours:
        path, line = ours[-1]
        return f"{path.relative_to(_OURS.parent)}:{line}"
    return f"{frames[-1][0].name}:{frames[-1][1]}" if frames else "unknown"


def get() -> Any:  # noqa: ANN401 - structlog's own type
    """The logger."""
    return structlog.get_logger()


_configure(logging.WARNING)  # a verb that sets nothing up writes no more, and never to standard output
