"""A clinic's answers, checked all at once."""

import datetime as dt
import re
from collections.abc import Callable, Mapping
from typing import Any, TypeVar

from bot.domain import local_time
from bot.domain.contacts import ClinicCard, Hours
from bot.errors import RefusedError
from bot.rules.prescription_fields import DAYS
from bot.service.setup import NewClinic

CODE = re.compile(r"^[a-z0-9][a-z0-9-]{0,31}$")
NUMBER = re.compile(r"^\+?[0-9][0-9 ()-]{1,22}$")
HOURS_PART = re.compile(r"^(\w{3})(?:\s*-\s*(\w{3}))?\s+(\d{1,2}:\d{2})\s*-\s*(\d{1,2}:\d{2})$")
T = TypeVar("T")
# From memory, to catch a slip; a country that is not listed is not checked.
EMERGENCY_NUMBERS: Mapping[str, tuple[str, ...]] = {
    "IE": ("112", "999"),
    "GB": ("999", "112"),
    "US": ("911",),
    "CA": ("911",),
    "AU": ("000", "112"),
    "NZ": ("111",),
    "DE": ("112",),
    "FR": ("112", "15"),
    "ES": ("112",),
    "NL": ("112",),
}


def read(answers: Mapping[str, Any]) -> NewClinic:
    """The clinic; raises RefusedError with a line for each answer that cannot be taken.

    answers: code, name, zone, country, hours, closed_on, phone, out_of_hours_line, emergency_number,
    digest_day, digest_at, labels; each a text.
    """
    faults: list[str] = []

    def take(name: str, check: Callable[[str], T]) -> T | None:
        try:
            return check(str(answers[name]).strip())
        except (RefusedError, ValueError) as error:
            faults.append(f"--{name.replace('_', '-')}: {error}")
            return None

    code = take("code", _code)
    name = take("name", _name)
    zone = take("zone", lambda text: local_time.zone(text).key)
    country = take("country", _country)
    week = take("hours", hours)
    closures = take("closed_on", _days)
    phone = take("phone", _number)
    line = take("out_of_hours_line", _number)
    emergency = take("emergency_number", _number)
    at = take("digest_at", _time)
    if (
        code is None or name is None or zone is None or country is None or week is None or closures is None
        or phone is None or line is None or emergency is None or at is None
    ):  # fmt: skip
        raise RefusedError(*faults)
    if line == phone:
        faults.append(
            "--out-of-hours-line: the same as --phone; expected a number that answers when it is shut"
        )
    known = EMERGENCY_NUMBERS.get(country)
    if known is not None and emergency not in known:
        faults.append(f"--emergency-number: {emergency}; in {country} expected {' or '.join(known)}")
    if faults:
        raise RefusedError(*faults)
    card = ClinicCard(name, zone, phone, line, emergency, week, closures)
    return NewClinic(code, card, country, DAYS.index(answers["digest_day"]), at, answers["labels"])


def _code(text: str) -> str:
    if not CODE.fullmatch(text):
        raise ValueError(f"{text!r}; expected small letters, digits and hyphens")
    return text


def _name(text: str) -> str:
    if not 1 <= len(text) <= 80:  # noqa: PLR2004 - fits into a sentence
        raise ValueError("expected a name of at most 80 characters")
    return text


def _country(text: str) -> str:
    if not re.fullmatch(r"[A-Za-z]{2}", text):
        raise ValueError(f"{text!r}; expected two letters, such as IE")
    return text.upper()


def _number(text: str) -> str:
    if not NUMBER.fullmatch(text):
        raise ValueError(f"{text!r} is not a phone number; expected digits, spaces and a leading +")
    return text


def _time(text: str) -> dt.time:
    try:
        return dt.time.fromisoformat(text if len(text.partition(":")[0]) > 1 else f"0{text}")
    except ValueError:
        raise ValueError(f"{text!r}; expected a time such as 09:00") from None


def _days(text: str) -> frozenset[dt.date]:
    try:
        return frozenset(dt.date.fromisoformat(part.strip()) for part in text.split(",") if part.strip())
    except ValueError:
        raise ValueError(f"{text!r}; expected dates such as 2026-12-25,2026-12-26") from None


def hours(text: str, overnight: bool = False) -> Hours:
    """Opening hours such as "mon-fri 09:00-17:00; sat 09:00-12:00", by weekday.

    overnight: spans may end on the next morning. Raises ValueError, saying what was expected.
    """
    week: dict[int, list[tuple[dt.time, dt.time]]] = {}
    for part in filter(None, (part.strip().lower() for part in text.split(";"))):
        found = HOURS_PART.fullmatch(part)
        if found is None:
            raise ValueError(f'{part!r}; expected such as "mon-fri 09:00-17:00"')
        first, last, start, end = found.groups()
        last = last or first
        if first not in DAYS or last not in DAYS:
            raise ValueError(f"{part!r}; expected days from {', '.join(DAYS)}")
        opens, closes = _time(start), _time(end)
        if closes == opens or (closes < opens and not overnight):
            raise ValueError(f"{part!r}; expected to close after it opens")
        length = (DAYS.index(last) - DAYS.index(first)) % 7
        for step in range(length + 1):
            week.setdefault((DAYS.index(first) + step) % 7, []).append((opens, closes))
    if not week:
        raise ValueError("expected at least one day")
    return {day: tuple(sorted(spans)) for day, spans in week.items()}
