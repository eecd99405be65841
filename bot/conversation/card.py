"""A client's card as the therapist reads it: figures first, since they say nothing about the body.

What stands in the first characters of a message shows on a locked telephone, so whatever tells of symptoms or
of her own words begins further down.
"""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from bot.conversation.copy.en_caseload import PHRASES
from bot.conversation.prescribing_words import WEEKDAYS, programme
from bot.domain import adherence as adh
from bot.domain import symptoms
from bot.domain.adherence import Cover, Day
from bot.domain.check_in import QUESTIONS
from bot.domain.client_notes import SentNote
from bot.domain.client_record import AlertRecord, ClientRecord
from bot.domain.client_week import ClientWeek, StoppedBy
from bot.domain.dose import Figures, dose
from bot.domain.estimates import slope
from bot.domain.exercises import Catalogue
from bot.domain.levels import Level
from bot.domain.local_time import local
from bot.domain.people import Stage
from bot.domain.prescription import in_force
from bot.domain.progress import Criteria, Ground, Judgement
from bot.domain.trend import Span
from bot.domain.visits import Review, Visit

COVERED = 160  # characters that a locked telephone may show
WEEK = 7
WORDS_SHOWN = 280
MOST_LINES = 12
_STOPPED = {
    StoppedBy.WARNING: "by an alert",
    StoppedBy.LOSS: "(sensitive)",
    StoppedBy.PREGNANCY: "(new pregnancy)",
    StoppedBy.REVIEW_OVERDUE: "as the review is overdue",
    StoppedBy.THERAPIST: "by you",
}


@dataclass(frozen=True, slots=True)
class CardView:
    """Everything a card may show. week: None for a client who has not joined. titles: of warning signs."""

    record: ClientRecord
    week: ClientWeek | None
    reviews: tuple[Review, ...]
    visits: tuple[Visit, ...]
    catalogue: Catalogue
    criteria: Criteria
    figures: Figures
    titles: dict[str, str]

    @property
    def label(self) -> str:
        """How she is shown."""
        return self.record.label

    @property
    def judgement(self) -> Judgement | None:
        """What to consider about her dose."""
        return self.week.judgement if self.week else None


def say(phrase: str, **values: object) -> str:
    """A phrase with its values put in."""
    return PHRASES[phrase].format(**values)


def date(on: dt.date) -> str:
    """A day, such as "Tue 3 Mar"."""
    return f"{WEEKDAYS[on.weekday()]} {on.day} {on:%b}"


def when(at: dt.datetime, view: CardView) -> str:
    """An instant on her clock."""
    there = local(at, view.record.zone)
    return f"{date(there.date())} {there:%H:%M}"


def days_text(days: int) -> str:
    """So many days."""
    return say("days.one") if days == 1 else say("days.many", days=days)


def _range(low: int, high: int) -> str:
    return f"{low}" if low == high else say("range", low=low, high=high)


def figures_text(figures: adh.Adherence) -> str:
    """Counts of sets and days, such as "13 to 18 of 21, answered 5 of 7 days"."""
    if figures.prescribed:
        done = _range(figures.done, figures.at_most)
        days = days_text(figures.days)
        text = say("figures", done=done, due=figures.prescribed, answered=figures.answered_days, days=days)
    else:
        text = say("figures.none")
    if figures.extra:
        text += say("figures.extra", sets=figures.extra)
    for phrase, days_apart in (
        ("figures.paused", figures.paused_days),
        ("figures.stopped", figures.stopped_days),
        ("figures.travel", figures.travel_days),
    ):
        if days_apart:
            text += say(phrase, days=days_text(days_apart))
    return text


def covered(head: Sequence[str], body: Iterable[str]) -> str:
    """The head, what keeps the rest off a lock screen where the head is short, and the rest."""
    opening = "\n".join(head)
    if len(opening) < COVERED:
        opening += "\n" + say("card.cover")
    if len(opening) < COVERED:
        opening += " " + say("card.cover.more")
    return "\n".join((opening, "", *body))


def cover() -> str:
    """What keeps the rest of a message off a lock screen."""
    return f" {say('card.cover')} {say('card.cover.more')}"


def card(view: CardView) -> str:
    """The card's main screen."""
    if view.week is None:
        ended = view.record.client.stage in {Stage.WITHDRAWN, Stage.DISCHARGED}
        head = say("card.ended" if ended else "card.not-joined", client=view.label)
        return covered([head], [*_plan(view), *(["", *_hers(view)] if ended else [])])
    return covered(
        list(_figures(view, view.week)),
        [
            *_plan(view),
            *([advice(view, view.judgement)] if view.judgement else []),
            "",
            *_symptoms(view),
            "",
            *_hers(view),
        ],
    )


def _figures(view: CardView, week: ClientWeek) -> Iterable[str]:
    record = view.record
    first = week.today - dt.timedelta(days=WEEK)
    yield say(
        "card.week",
        client=view.label,
        first=date(first),
        last=date(week.today - dt.timedelta(days=1)),
        figures=figures_text(adh.adherence(week.days)),
    )
    reviewed = [review.on for review in view.reviews]
    if reviewed:
        since = adh.adherence(record.since(reviewed[-1]))
        yield say("card.since", on=date(reviewed[-1]), figures=figures_text(since))
    if len(record.days) > WEEK:
        whole = adh.adherence(record.days)
        yield say("card.whole", days=days_text(len(record.days)), figures=figures_text(whole))
    both = (adh.days_covered(week.days, cover) for cover in (Cover.ALL_SETS, Cover.ANY_SET))
    every, some = (f"{_range(one.at_least, one.at_most)} of {days_text(one.days)}" for one in both)
    yield say("card.covered", all=every, any=some)
    yield (
        say("card.review", on=date(week.review_on)) if week.review_on is not None else say("card.no-review")
    )


def _plan(view: CardView) -> list[str]:
    record, lines = view.record, []
    held = record.current
    if held is None:
        lines.append(say("card.no-plan"))
    else:
        on = date(held.prescription.starts_on)
        lines.append(say("card.plan", version=held.number, on=on, by=held.by))
        lines += programme(view.label, held.prescription, view.catalogue)[1:]
        if view.week is not None:
            amount = adh.adherence(in_contractions(view, view.week.days))
            if amount.prescribed:
                done = _range(amount.done, amount.at_most)
                lines.append(say("card.contractions", done=done, due=amount.prescribed))
    lines += [
        say("card.next-plan", on=date(one.prescription.starts_on), version=one.number, by=one.by)
        for one in record.versions
        if one.prescription.starts_on > record.today
    ]
    week = view.week
    if week and week.paused_until_on:
        lines.append(say("card.paused", on=date(week.paused_until_on)))
    if week and week.stopped_by and week.stopped_since_on:
        lines.append(say("card.stopped", on=date(week.stopped_since_on), by=_STOPPED[week.stopped_by]))
    return lines


def in_contractions(view: CardView, days: Sequence[Day]) -> list[Day]:
    """The same days counted in contractions: each set is worth those of the version in force that day."""
    versions = view.record.in_force
    amounts = {
        one.version: dose(one.prescription, view.catalogue, view.figures).by_weekday for one in versions
    }
    found = []
    for day in days:
        held = in_force(versions, day.on)
        a_day = amounts[held.version][day.on.weekday()].contractions if held else 0
        a_set = a_day // day.prescribed if day.prescribed else 0
        reported = None if day.reported is None else day.reported * a_set
        found.append(Day(day.on, day.prescribed * a_set, reported, day.state))
    return found


def advice(view: CardView, judgement: Judgement) -> str:
    """What to consider and why."""
    grounds = ". ".join(ground_text(ground, view.criteria) for ground in judgement.grounds)
    return say("advice", advice=say(f"advice.{judgement.advice.value}"), grounds=f"{grounds}.")


def ground_text(ground: Ground, criteria: Criteria) -> str:
    """A reason in words, with the figure it goes by."""
    return say(
        f"ground.{ground.value}",
        quiet=f"{criteria.quiet_weeks.value:g}",
        weeks=f"{criteria.weeks_on_version.value:g}",
        finding=f"{criteria.finding_weeks.value:g}",
        threshold=f"{criteria.threshold.value:.0%}".rstrip("%"),
        far=f"{criteria.far_below.value:.0%}".rstrip("%"),
    )


def _symptoms(view: CardView) -> list[str]:
    record = view.record
    lines = []
    for question in QUESTIONS:
        course = symptoms.course(question, record.symptoms, record.today, 8)
        if course.weeks:
            lines.append(_course(course))
    return lines or [say("symptom.none")]


def _course(course: symptoms.Course) -> str:
    values = ", ".join(span_text(week.median) for week in course.weeks)
    parts = [say("symptom", name=say(f"symptom.name.{course.question}"), values=values)]
    for phrase, change in (
        ("symptom.baseline", course.since_baseline),
        ("symptom.last-week", course.since_last_week),
    ):
        if change is not None:
            verdict = change.verdict.value if change.verdict else "unjudged"
            parts.append(say(phrase, verdict=say(f"verdict.{verdict}")) + _percent(change))
    found = slope(course.weekly)
    if found is not None:
        parts.append(
            say(
                "symptom.slope", slope=_signed(found.a_week), low=_signed(found.low), high=_signed(found.high)
            )
        )
    parts.append(say("symptom.trend", trend=say(f"trend.{course.trend.value}")))
    return "; ".join(parts)


def _signed(value: float) -> str:
    rounded = round(value, 1)
    return f"{rounded:+g}" if rounded else "0"


def _percent(change: symptoms.Change) -> str:
    least, most = change.percent
    if least is None or most is None:
        return ""
    if round(least) == round(most):
        return say("symptom.percent.same", least=f"{least:+.0f}")
    return say("symptom.percent", least=f"{least:+.0f}", most=f"{most:+.0f}")


def span_text(span: Span | None) -> str:
    """A count or a range, in figures."""
    if span is None:
        return say("symptom.gap")
    if span.high is None:
        return say("open-range", low=f"{span.low:g}")
    return (
        f"{span.low:g}" if span.low == span.high else say("range", low=f"{span.low:g}", high=f"{span.high:g}")
    )


def _said(view: CardView) -> list[tuple[dt.datetime, str, bool]]:
    """What she wrote that a person has to read, newest first: when, what, whether it was opened."""
    notes = [(note.said_at, note.text, note.read_at is not None) for note in view.record.notes]
    alerts = [
        (one.alert.raised_at, one.alert.words, one.alert.seen_at is not None) for one in view.record.alerts
    ]
    return sorted(notes + alerts, key=lambda one: one[0], reverse=True)


def _hers(view: CardView) -> list[str]:
    said = _said(view)
    unread = sum(note.read_at is None for note in view.record.notes)
    closed = sum(one.alert.closed_at is not None for one in view.record.alerts)
    kept = sum(
        one.alert.closed_at is None and one.alert.level is Level.NEXT_REVIEW for one in view.record.alerts
    )
    lines = [say("words.none")]
    if said:
        at, text, _ = said[0]
        lines = [say("words.last", when=when(at, view), text=short(text))]
    if unread:
        lines.append(say("words.notes", notes=unread))
    lines += [_to_her(one, view) for one in view.record.to_her[-1:]]
    if view.record.alerts:
        lines.append(say("alerts.open", open=len(view.record.alerts) - closed - kept, closed=closed))
    if kept:
        lines.append(say("alerts.review", count=kept))
    lines += [
        say("visits.line", on=date(one.on), attendance=say(f"attendance.{one.attendance.value}"))
        for one in view.visits[-1:]
    ]
    lines += [
        say("reviews.line", on=date(one.on), outcome=say(f"outcome.{one.outcome.value}"))
        for one in view.reviews[-1:]
    ]
    return lines


def short(text: str) -> str:
    """As much of a text as a card has room for."""
    flat = " ".join(text.split())
    return flat if len(flat) <= WORDS_SHOWN else flat[: WORDS_SHOWN - 1] + "…"


def _to_her(note: SentNote, view: CardView) -> str:
    fate = say(f"to-her.{note.fate.value}")
    return say("to-her", when=when(note.at, view), by=note.by, fate=fate, text=short(note.text))


def words(view: CardView) -> str:
    """Her own words and what was written to her, newest first."""
    told = [
        (at, say("words.line", when=when(at, view), read=say("words.read") if read else "", text=short(text)))
        for at, text, read in _said(view)
    ]
    told += [(note.at, _to_her(note, view)) for note in view.record.to_her]
    lines = [line for _, line in sorted(told, reverse=True)][:MOST_LINES]
    return covered([say("words.page", client=view.label)], lines or [say("words.none")])


def alerts(view: CardView) -> str:
    """Open and closed alerts, newest first."""
    lines = [_alert(one, view) for one in reversed(view.record.alerts)][:MOST_LINES]
    return covered([say("alerts.page", client=view.label)], lines or [say("alerts.none")])


def _alert(one: AlertRecord, view: CardView) -> str:
    alert = one.alert
    how = say("alerts.line.seen") if alert.seen_at else say("alerts.line.open")
    if alert.closed_at is not None:
        outcome = alert.outcome.value.replace("_", " ") if alert.outcome else ""
        how = say("alerts.line.closed", when=when(alert.closed_at, view), outcome=outcome)
        if one.closing_note:
            how += say("alerts.line.note", note=short(one.closing_note))
    signs = "; ".join(view.titles.get(sign, sign) for sign in alert.signs)
    level = say(f"level.{alert.level.value}")
    return say("alerts.line", when=when(alert.raised_at, view), level=level, signs=signs, how=how)
