"""What a turn with a client may look at: everything is read beforehand, nothing is fetched meanwhile."""

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from zoneinfo import ZoneInfo

from bot.domain import local_time
from bot.domain.adherence import DayState
from bot.domain.alerts import Alert
from bot.domain.contacts import ClinicCard, next_opening, number_now, zone_of
from bot.domain.day_book import DayBook, SetReport
from bot.domain.exercises import Catalogue
from bot.domain.extras import Extra
from bot.domain.people import Client
from bot.domain.prescription import InForce, in_force, prescribed_sets
from bot.domain.track import Pause, Said
from bot.domain.warning_signs import SignRules

OWN_PAUSE = "own"  # the reason of a break she took herself
NO_EXERCISES = Catalogue({})
DAY_NAMES = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


@dataclass(frozen=True, slots=True)
class ClientView:
    """A client as she stands at `now`.

    said_at: when she said what is being answered; her words are about that day, however late they arrive.
    waiting: what the conversation waits for. baseline: her first answer to each check-in question. laters:
    how often she put a nudge off today. digest_day: the weekday her therapist reads the digest (0 = Monday).
    unread_lately: a message of hers that could not be read was answered in the last minutes. chat_ref: a
    short name of her chat, for the keys of her reports. reports: her reports of the last weeks. cues: the
    moments she tied her nudges to, in order, "" for none. cap, evening_only: how much she wants to hear.
    is_discreet: whether a text of hers may stand on a lock screen. may_join: whether she may be enrolled by
    what is signed off. away_until: the last day of a leave of her therapist that nobody covers. on_call:
    whether somebody is on call now. solo: whether her therapist is the only one who is told. crisis_line:
    beside the mood question, "" while that is off. mood_due: whether it is time for that question.
    last_answers: her last answer to each question. own_advice: the clinic's own texts of advice, by id.
    standing: the newest message sent unasked. replied_on: the day of the message she replies to, where that
    was one of ours about a day. extras: taps for the exercises beside the sets. catalogue: the exercises
    there are. offered: maintenance is offered to her and waits for her answer. record_years: how long her
    clinic keeps records; None while it has not said, or nobody asks. message_days: how long the contents of
    chat messages are kept. reads: the clinic with the hours in which her therapist reads, where those are not
    the clinic's. questions_open: the questions of the
    week were put to her today, nothing has been sent since, and the last one is not answered.
    """

    client: Client
    card: ClinicCard
    now: dt.datetime
    said_at: dt.datetime
    versions: tuple[InForce, ...]
    book: DayBook
    waiting: Mapping[str, str | int] | None
    pause: Pause | None
    open_alerts: tuple[Alert, ...]
    baseline: Mapping[str, int]
    laters: int
    digest_day: int
    rules: SignRules
    unread_lately: bool = False
    chat_ref: str = ""
    reports: tuple[SetReport, ...] = ()
    cues: tuple[str, ...] = ()
    cap: int = 3
    evening_only: bool = False
    is_discreet: Callable[[str], bool] = bool
    may_join: bool = True
    away_until: dt.date | None = None
    on_call: bool = False
    solo: bool = False
    crisis_line: str = ""
    mood_due: bool = False
    last_answers: Mapping[str, int] = field(default_factory=dict)
    own_advice: Mapping[str, str] = field(default_factory=dict)
    standing: Said | None = None
    replied_on: dt.date | None = None
    extras: tuple[Extra, ...] = ()
    catalogue: Catalogue = NO_EXERCISES
    away: Mapping[dt.date, DayState] = field(default_factory=dict)
    offered: bool = False
    record_years: int | None = None
    message_days: int = 90
    reads: ClinicCard | None = None
    questions_open: bool = False

    @property
    def reader(self) -> ClinicCard:
        """The clinic with the hours in which her therapist reads."""
        return self.reads or self.card

    @property
    def zone(self) -> ZoneInfo:
        """Her time zone; the clinic's should hers ever vanish from the time zone data."""
        return local_time.known_zone(self.client.zone) or zone_of(self.card)

    @property
    def today(self) -> dt.date:
        """Her local day when she said it."""
        return local_time.local_date(self.said_at, self.zone)

    @property
    def reads_on(self) -> dt.date:
        """Her local day when she reads the answer: a later one than `today` where an outage lay between."""
        return local_time.local_date(self.now, self.zone)

    @property
    def in_force(self) -> InForce | None:
        """The prescription that holds today."""
        return in_force(self.versions, self.today)

    @property
    def paused(self) -> bool:
        """Whether she gets no nudges today."""
        return self.pause is not None and (self.pause.until is None or self.today < self.pause.until)

    @property
    def held(self) -> bool:
        """Whether a warning, or her therapist, has paused the programme: not a break of her own."""
        return self.paused and self.pause is not None and self.pause.reason != OWN_PAUSE

    def sets(self, on: dt.date) -> int:
        """How many sets are due on a local day."""
        return prescribed_sets(self.versions, on)

    def done(self, on: dt.date) -> int:
        """How many sets are booked for a local day; 0 also where nobody answered."""
        return self.book.totals.get(on, 0)


def day_name(on: dt.date, today: dt.date) -> str:
    """A day as people say it: today, yesterday, a weekday of the last week, else the date."""
    days = (today - on).days
    if days == 0:
        return "today"
    if days == 1:
        return "yesterday"
    if 0 < days < len(DAY_NAMES):
        return DAY_NAMES[on.weekday()]
    return f"{on.day} {on:%B}"


def date_text(on: dt.date) -> str:
    """A day to come, with its weekday: Monday 3 March."""
    return f"{DAY_NAMES[on.weekday()]} {on.day} {on:%B}"


def clock_text(at: dt.datetime, zone: ZoneInfo) -> str:
    """A wall time, such as 14:05."""
    return f"{local_time.local(at, zone):%H:%M}"


def opening_text(card: ClinicCard, now: dt.datetime) -> str:
    """When the clinic opens next, in words."""
    zone = zone_of(card)
    at = local_time.local(next_opening(card, now), zone)
    today = local_time.local_date(now, zone)
    day = "today" if at.date() == today else DAY_NAMES[at.weekday()]
    return f"{day} {at:%H:%M}"


def card_values(card: ClinicCard, now: dt.datetime) -> dict[str, str | int]:
    """The clinic's numbers as they stand at an instant."""
    return {
        "clinic": card.name,
        "phone": card.phone,
        "number_now": number_now(card, now),
        "emergency_number": card.emergency_number,
    }


def contact_values(view: ClientView) -> dict[str, str | int]:
    """The clinic's numbers, for any sentence."""
    return {**card_values(view.card, view.now), "digest_day": DAY_NAMES[view.digest_day]}
