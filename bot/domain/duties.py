"""Who answers for what in a clinic: on call, safeguarding, the mood question, cover for leave."""

import datetime as dt
import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum

from bot.domain import contacts, local_time
from bot.domain.contacts import ClinicCard, Hours


class Duty(StrEnum):
    """What a person, or nobody, is named for.

    ON_CALL: alerts at night, in hours of its own. SAFEGUARDING: abuse, self-harm, harm to the baby,
    psychosis. MOOD: acts on answers to the mood question, beside a crisis line. COVER: stands in for a
    therapist on leave. NO_COVER: nobody does. SOLO: the clinic has no second person who could be the fallback
    contact.
    """

    ON_CALL = "on_call"
    SAFEGUARDING = "safeguarding"
    MOOD = "mood"
    COVER = "cover"
    NO_COVER = "no_cover"
    SOLO = "solo"


@dataclass(frozen=True, slots=True)
class Named:
    """One duty as the clinic recorded it.

    staff_id: who has it. for_id: whose leave it is about. from_on, until_on: its first and last day. hours:
    of being on call. number: of the crisis line. recorded_by: who says that the clinic is solo.
    """

    duty: Duty
    staff_id: uuid.UUID | None = None
    for_id: uuid.UUID | None = None
    from_on: dt.date | None = None
    until_on: dt.date | None = None
    hours: Hours = field(default_factory=dict)
    number: str = ""
    recorded_by: str = ""


@dataclass(frozen=True, slots=True)
class Leave:
    """A therapist's leave as it stands: until when, and who stands in (None: nobody)."""

    until_on: dt.date
    cover_id: uuid.UUID | None


@dataclass(frozen=True, slots=True)
class Rota:
    """A clinic's hours and everybody's duties. own_hours: of therapists who have hours of their own."""

    card: ClinicCard
    named: tuple[Named, ...] = ()
    own_hours: Mapping[uuid.UUID, Hours] = field(default_factory=dict)

    def _all(self, duty: Duty) -> tuple[Named, ...]:
        return tuple(one for one in self.named if one.duty is duty)

    def reads(self, therapist_id: uuid.UUID, now: dt.datetime) -> ClinicCard:
        """The clinic with the hours in which a therapist, or who stands in for her today, reads.

        Her own where she has some; on the clinic's closed days she does not read either.
        """
        leave = self.leave_of(therapist_id, now)
        hours = self.own_hours.get(therapist_id)
        if hours is None or (leave is not None and leave.cover_id is not None):
            return self.card
        return replace(self.card, hours=hours)

    def is_off(self, therapist_id: uuid.UUID, now: dt.datetime) -> bool:
        """Whether a therapist does not work at an instant at which the clinic is open."""
        return contacts.is_open(self.card, now) and not contacts.is_open(self.reads(therapist_id, now), now)

    @property
    def solo(self) -> bool:
        """Whether the clinic recorded that it has no second person."""
        return bool(self._all(Duty.SOLO))

    @property
    def safeguarding(self) -> tuple[uuid.UUID, ...]:
        """The safeguarding leads."""
        return tuple(one.staff_id for one in self._all(Duty.SAFEGUARDING) if one.staff_id is not None)

    @property
    def mood(self) -> Named | None:
        """Who acts on the mood question and which crisis line stands beside it; None while it is off."""
        return next(iter(self._all(Duty.MOOD)), None)

    def on_call(self, now: dt.datetime) -> uuid.UUID | None:
        """Who is on call at an instant; None in clinic hours, and where nobody is."""
        if contacts.is_open(self.card, now):
            return None
        for one in self._all(Duty.ON_CALL):
            if contacts.is_open(_hours_of(self.card, one), now):
                return one.staff_id
        return None

    def is_watched(self, now: dt.datetime) -> bool:
        """Whether alerts are answered now: in clinic hours, or while somebody is on call."""
        return contacts.is_open(self.card, now) or self.on_call(now) is not None

    def next_watched(self, now: dt.datetime) -> dt.datetime:
        """The next instant at which they are: now, if so."""
        if self.is_watched(now):
            return now
        starts = [contacts.next_opening(self.card, now)]
        starts += [contacts.next_opening(_hours_of(self.card, one), now) for one in self._all(Duty.ON_CALL)]
        return min(starts)

    def leave_of(self, therapist_id: uuid.UUID, now: dt.datetime) -> Leave | None:
        """The leave a therapist is on today."""
        today = local_time.local_date(now, contacts.zone_of(self.card))
        for one in reversed(self.named):
            if one.duty not in {Duty.COVER, Duty.NO_COVER} or one.for_id != therapist_id:
                continue
            if one.from_on is not None and one.until_on is not None and one.from_on <= today <= one.until_on:
                return Leave(one.until_on, one.staff_id if one.duty is Duty.COVER else None)
        return None


def _hours_of(card: ClinicCard, one: Named) -> ClinicCard:
    """The clinic with the hours of being on call in place of its own; a closed day has a night too."""
    return replace(card, hours=one.hours, closures=frozenset())


LATEST = dt.time.max


def night_hours(hours: Mapping[int, tuple[tuple[dt.time, dt.time], ...]]) -> Hours:
    """Hours that may cross midnight, as spans within a day each."""
    week: dict[int, list[tuple[dt.time, dt.time]]] = {}
    for day, spans in hours.items():
        for start, end in spans:
            if end > start:
                week.setdefault(day, []).append((start, end))
                continue
            week.setdefault(day, []).append((start, LATEST))
            if end > dt.time(0):
                week.setdefault((day + 1) % 7, []).append((dt.time(0), end))
    return {day: tuple(sorted(spans)) for day, spans in week.items()}
