"""A client's nudges as an iCalendar file (RFC 5545), discreet like the nudges themselves.

Every nudge is an event of its own at its instant in UTC: what a clock change does to it was decided where
nudges are, and no calendar has to decide it again.
"""

import datetime as dt
import uuid
from collections.abc import Iterator

from bot.domain import local_time
from bot.domain.client_record import ClientRecord
from bot.domain.prescription import in_force
from bot.reports.words import Words

MOST_DAYS = 366
OCTETS = 75  # of a line, its end left out; RFC 5545, 3.1
_NAMES = uuid.uuid5(uuid.NAMESPACE_URL, "https://programme-bot.invalid/nudges")


def instants(record: ClientRecord) -> Iterator[tuple[dt.date, int, dt.datetime]]:
    """Her nudges from today up to the day before her review, if nobody answered: day, ordinal and instant.

    At most a year of them; a day off has none, and a later version takes over on its first day.
    """
    last_on = max((version.prescription.review_on for version in record.versions), default=record.today)
    for n in range(min((last_on - record.today).days, MOST_DAYS)):
        on = record.today + dt.timedelta(days=n)
        held = in_force(record.in_force, on)
        if held is None or on.weekday() not in held.prescription.days or on >= held.prescription.review_on:
            continue
        for ordinal, wall in enumerate(held.prescription.nudge_times, start=1):
            at = local_time.instant(on, wall, record.zone)
            if at >= record.at:
                yield on, ordinal, at


def calendar(record: ClientRecord, say: Words) -> bytes:
    """The file: lines of at most 75 octets, ended as the standard wants."""
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//programme-bot//nudges//EN", "CALSCALE:GREGORIAN"]
    for on, ordinal, at in instants(record):
        lines += (
            "BEGIN:VEVENT",
            f"UID:{uuid.uuid5(_NAMES, f'{record.client.id}:{on}:{ordinal}')}",
            f"DTSTAMP:{_utc(record.at)}",
            f"DTSTART:{_utc(at)}",
            "DURATION:PT10M",
            f"SUMMARY:{_escaped(say.say('calendar.nudge'))}",
            "CLASS:PRIVATE",
            "TRANSP:TRANSPARENT",
            "END:VEVENT",
        )
    lines.append("END:VCALENDAR")
    return b"".join(_folded(line) for line in lines)


def _utc(at: dt.datetime) -> str:
    return f"{at.astimezone(dt.UTC):%Y%m%dT%H%M%SZ}"


def _escaped(text: str) -> str:
    for char in "\\;,":
        text = text.replace(char, f"\\{char}")
    return text.replace("\n", "\\n")


def _folded(line: str) -> bytes:
    """A line with its end, folded between characters where it is too long."""
    parts, room = [b""], OCTETS
    for char in line:
        raw = char.encode()
        if len(parts[-1]) + len(raw) > room:
            parts.append(b"")
            room = OCTETS - 1  # the blank that begins a folded line counts
        parts[-1] += raw
    return b"\r\n ".join(parts) + b"\r\n"
