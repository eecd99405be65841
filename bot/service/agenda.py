"""The agenda tick: what is due for whom, put in the outbox in the transaction that moves it on."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace
from zoneinfo import ZoneInfo

from bot.conversation import asking, counting, maintenance, nudging
from bot.conversation.speech import Say
from bot.domain import agenda, contacts, local_time
from bot.domain.adherence import DayState
from bot.domain.agenda import Due
from bot.domain.day_book import Meaning, SetReport, fold
from bot.domain.delivery import Kind
from bot.domain.people import Client, Clinic
from bot.domain.prescription import InForce, in_force
from bot.domain.track import Mode, Pause, Said, Track, What
from bot.logs import get
from bot.service import ending, post
from bot.service.office import Office
from bot.service.papers import Papers, of_active
from bot.service.programme import day_state
from bot.store import chats, diary, outbox, unasked_log
from bot.store.base import Tx
from bot.store.diary import PauseEvent, TrackRow
from bot.store.unasked_log import UnaskedRow

LOOK_AGAIN = dt.timedelta(minutes=10)
log = get()


def _track(papers: Papers) -> Track:
    row, client, clinic = papers.row, papers.client, papers.clinic
    book = fold(papers.reports)
    zone = local_time.known_zone(client.zone) or contacts.zone_of(clinic.card)
    said = tuple(
        Said(What(message.what), message.on, message.ordinal, message.put_at) for message in papers.said
    )
    return Track(
        zone=client.zone,
        versions=papers.versions,
        mode=Mode(row.mode),
        cap=row.cap,
        done=book.totals,
        closed=book.closed,
        said=said,
        later_at=row.later_at,
        laters_today=row.laters,
        pause=None if row.pause_reason is None else Pause(row.paused_until, row.pause_reason),
        last_heard_at=row.last_heard_at,
        last_check_in_on=row.last_check_in_on,
        spare_zone=clinic.card.zone,
        restarted_at=row.restarted_at,
        end=ending.track_end(client, papers.ending),
        excused=_excused(papers.pauses, papers.since.date())
        | {report.on for report in papers.reports if _is_final(report, papers.versions, zone)}
        | _begun_late(row, papers.versions, zone),
    )


def _begun_late(row: TrackRow, versions: tuple[InForce, ...], zone: ZoneInfo) -> set[dt.date]:
    """The day her nudges began, when some of it had passed by then: nobody asks how that day went."""
    begun = local_time.local(row.restarted_at, zone)
    version = in_force(versions, begun.date())
    times = version.prescription.nudge_times if version else ()
    return {begun.date()} if times and begun.time() > times[0] else set()


def _is_final(report: SetReport, versions: tuple[InForce, ...], zone: ZoneInfo) -> bool:
    """Whether a report says how a whole day went, so that nobody asks about that day again.

    A number in all that was said in the evening or later; one tapped in the morning may have had company.
    """
    version = in_force(versions, report.on)
    if version is None or report.meaning not in {Meaning.TOTAL, Meaning.NONE}:
        return False
    return report.said_at >= local_time.instant(report.on, version.prescription.round_up_at, zone)


def _excused(events: Sequence[PauseEvent], since_on: dt.date) -> frozenset[dt.date]:
    """Days of a pause: nobody asks about them afterwards."""
    if not events:
        return frozenset()
    last_on = max(event.until or event.on for event in events)
    days = (max(since_on, events[0].on) + dt.timedelta(days=n) for n in range((last_on - since_on).days + 1))
    return frozenset(on for on in days if day_state(events, on) is not DayState.ACTIVE)


def run(office: Office, limit: int = 50) -> int:
    """Say what is due to up to `limit` clients, and move each one's next look on; tells how many were due.

    The commit need not wait for the disk: after a power cut the same is found due again. One client's fault
    undoes what was looked at together; then each is looked at by herself, so that it silences nobody else.
    """
    now = office.clock.now()
    with office.begin(flushed=False) as tx:
        due = diary.tracks_due(tx, now, limit)
        if not due:
            return 0
        try:
            with tx.attempt():
                _look_at(tx, due, now)
        except Exception as error:  # noqa: BLE001 - whatever it is, the clients are tried one by one
            log.warning("looks_apart", error=type(error).__name__)
            for row in due:
                _look_apart(tx, row, now)
    return len(due)


def _look_apart(tx: Tx, row: TrackRow, now: dt.datetime) -> None:
    try:
        with tx.attempt():
            _look_at(tx, [row], now)
    except Exception as error:  # noqa: BLE001 - one client's fault must not silence the others
        log.error("look_failed", client=str(row.client_id), error=type(error).__name__)  # noqa: TRY400 - no texts in logs
        diary.change_track(tx, row.client_id, next_at=now + LOOK_AGAIN)


def _look_at(tx: Tx, due: Sequence[TrackRow], now: dt.datetime) -> None:
    papers = of_active(tx, due)
    for row in due:
        if row.client_id in papers:
            _look(tx, papers[row.client_id], now)
        else:
            diary.change_track(tx, row.client_id, next_at=None)


def _look(tx: Tx, papers: Papers, now: dt.datetime) -> None:
    client, clinic = papers.client, papers.clinic
    track = _track(papers)
    decision = agenda.decide(track, now)
    if decision.lost_zone is not None:
        log.warning("zone_lost", client=str(client.id), zone=decision.lost_zone)
    for message in decision.say:
        _say(tx, papers, track, message, now)
    diary.change_track(tx, client.id, next_at=decision.next_at)
    if any(message.what is What.MAINTENANCE_OVER for message in decision.say):
        ending.over(tx, client, clinic, now)
    if any(message.what is What.LATER for message in decision.say):
        diary.change_track(tx, client.id, later_at=None)


def _key(client: Client, what: What, on: dt.date, ordinal: int) -> str:
    return f"unasked:{client.id.hex}:{what.value}:{on:%Y%m%d}:{ordinal}"


def _say(tx: Tx, papers: Papers, track: Track, due: Due, now: dt.datetime) -> None:
    client = papers.client
    if not unasked_log.add(tx, client.id, UnaskedRow(due.what.value, due.on, due.ordinal, now)):
        return
    chat = chats.chat_of_owner(tx, client.id)
    if chat is None:
        return
    if track.said:
        # At most one unanswered message stands in the chat with buttons.
        last = track.said[-1]
        standing = outbox.sent_message(tx, _key(client, last.what, last.on, last.ordinal))
        if standing is not None and _shows_buttons(tx, client, track, last):
            post.take_buttons(tx, chat, standing, now)
    # The moments she tied her nudges to; nothing else shows them.
    cues = papers.choice.cues if papers.choice is not None and due.what is What.NUDGE else ()
    say = replace(_sentence(client, papers.clinic, track, due, cues), kind=Kind.NUDGE)
    post.put_say(tx, chat, say, _key(client, due.what, due.on, due.ordinal), now, due.expires_at)


def _shows_buttons(tx: Tx, client: Client, track: Track, last: Said) -> bool:
    """Whether a message may still show buttons: a word has none, a check-in none after its last answer."""
    if last.what in {What.KIND_WORD, What.WEEKLY_WORD, What.BOOK_REVIEW, What.MAINTENANCE_OVER}:
        return False
    keys = _questions(track, last.on) if last.what is What.CHECK_IN else ()
    if not keys:
        return True
    told = diary.symptom_reports(tx, [client.id], last.on).get(client.id, [])
    return not any(report.on == last.on and report.question == keys[-1] for report in told)


def _questions(track: Track, on: dt.date) -> tuple[str, ...]:
    """The weekly questions of a day's plan."""
    version = in_force(track.versions, on)
    return version.prescription.check_in_questions if version else ()


def _sentence(client: Client, clinic: Clinic, track: Track, due: Due, cues: tuple[str, ...]) -> Say:
    counts = {"done": due.done, "sets": due.sets}
    match due.what:
        case What.NUDGE | What.LATER:
            return nudging.nudge(track, due, cues, client.language)
        case What.ROUND_UP:
            sentence = "round_up.ask" if due.done else "round_up.ask_none"
            return Say(sentence, counts, counting.number_buttons(due.on, due.sets))
        case What.CHECK_IN:
            return _check_in(client, track, due)
        case What.KIND_WORD:
            return Say("kind_word", {"phone": clinic.card.phone})
        case What.WEEKLY_WORD:
            return Say("weekly_word", {"phone": clinic.card.phone})
        case What.BOOK_REVIEW:
            return Say("book_review", {"phone": clinic.card.phone})
        case What.CHANGE | What.NOTE:
            raise ValueError("somebody puts it, not the agenda")
        case What.MAINTENANCE:
            return maintenance.weekly(due.on)
        case What.MAINTENANCE_OVER:
            return Say("maintenance.over", {"phone": clinic.card.phone})


def _check_in(client: Client, track: Track, due: Due) -> Say:
    keys = _questions(track, due.on)
    if not keys:
        return Say("round_up.ask_none", rows=counting.number_buttons(due.on, due.sets))
    return asking.first_question(client.language, keys, due.on)
