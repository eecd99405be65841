"""Structured logs: a fixed event name and fields from a short list. Never a name, a text or a finding."""

import logging
import re
import sys
from collections.abc import MutableMapping
from typing import Any

import structlog

TOKEN = re.compile(r"\d{5,}:[A-Za-z0-9_-]{10,}")  # a bot token, in whatever text it turns up
# Identifiers of ours, counts and kinds; a field that is not listed is left out rather than trusted.
FIELDS = frozenset(
    {
        "event", "level", "timestamp", "logger", "update", "client", "alert", "message", "kind", "count",
        "state", "seconds", "error", "setting", "address", "revision", "signal", "tries", "rules", "mode",
        "zone", "version",
    },
)  # fmt: skip


def _only_known_fields(
    logger: object,
    name: str,
    fields: MutableMapping[str, Any],
) -> MutableMapping[str, Any]:
    del logger, name
    return {key: value for key, value in fields.items() if key in FIELDS}


def _without_tokens(
    logger: object,
    name: str,
    fields: MutableMapping[str, Any],
) -> MutableMapping[str, Any]:
    del logger, name
    return {
        key: TOKEN.sub("[token]", value) if isinstance(value, str) else value for key, value in fields.items()
    }


def set_up(level: str) -> None:
    """Send logs to standard error, one JSON object a line, from `level` up.

    The libraries that write whole addresses or updates into their logs (the bot token is part of an address)
    are held at WARNING, and what they say is kept to its event.
    """
    number = logging.getLevelNamesMapping()[level.upper()]
    structlog.configure(
        processors=[
            structlog.processors.add_log_level,
            structlog.processors.TimeStamper(fmt="iso", utc=True),
            _only_known_fields,
            _without_tokens,
            structlog.processors.JSONRenderer(),
        ],
        wrapper_class=structlog.make_filtering_bound_logger(number),
        logger_factory=structlog.PrintLoggerFactory(sys.stderr),
        cache_logger_on_first_use=True,
    )
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(_OneLine())
    logging.basicConfig(level=logging.WARNING, handlers=[handler], force=True)
    for noisy in ("httpx", "httpcore", "telegram", "apscheduler", "uvicorn.access"):
        logging.getLogger(noisy).setLevel(logging.ERROR)


class _OneLine(logging.Formatter):
    """A library's record as one JSON line: its logger and level, never its text."""

    def format(self, record: logging.LogRecord) -> str:
        """The line."""
        return f'{{"event": "library_log", "logger": "{record.name}", "level": "{record.levelname.lower()}"}}'


def get() -> Any:  # noqa: ANN401 - structlog's own type
    """The logger."""
    return structlog.get_logger()
