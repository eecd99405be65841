"""A change of a client's plan in chat, and a prescription file that was sent: shown, then put in force."""

import datetime as dt
from collections.abc import Iterator

from bot.conversation import change_form, copy, form
from bot.conversation import prescribing_words as words
from bot.conversation.change_form import Bench
from bot.conversation.speech import Button, Say, Values
from bot.domain import dose, gating, local_time
from bot.domain.changes import changes
from bot.domain.drafts import Draft, DraftKind
from bot.domain.gating import NEVER_SET_ASIDE, Record
from bot.domain.people import Client, Stage
from bot.errors import RefusedError
from bot.rules import prescription_check, prescription_file
from bot.rules.discretion import indiscreet
from bot.rules.prescription_file import PrescriptionFile
from bot.service import enrolling, post, prescribing
from bot.service.at_desk import Desk, clinic_time, replace, say, summary_of, tell_enrolled, wait
from bot.service.enrolling import Enrolled
from bot.service.prescribing import Prescribed
from bot.store import drafts, people
from bot.store.ids import new_id

ONE_DAY = dt.timedelta(days=1)
KEPT = "base"  # the number of the version a change starts from, among its answers


def open_change(desk: Desk, code: str) -> None:
    """Begin a change of one of the therapist's clients, or go on with it."""
    wanted = code.strip().casefold()
    client = next((c for c in people.clients_of(desk.tx, desk.staff.id) if c.code.casefold() == wanted), None)
    if client is None:
        empty = Say("change.which_client") if not wanted else Say("staff.no_client", {"code": code.strip()})
        say(desk, empty)
        return
    found = drafts.by_code(desk.tx, desk.staff.id, client.code)
    if found is None or found.kind is not DraftKind.CHANGE or _is_stale(desk, found, client):
        file = prescribing.newest(desk.tx, client)
        if file is None:
            say(desk, Say("staff.no_client", {"code": client.code}))
            return
        base = {KEPT: str(_newest_number(desk, client))}
        document = prescription_file.to_document(file)
        found = Draft(new_id(desk.now), desk.staff.id, client.code, DraftKind.CHANGE, "", base, document)
        drafts.put(desk.tx, found, desk.now)
    show(desk, found)


def _newest_number(desk: Desk, client: Client) -> int:
    return max((one.version for one in prescribing.stored(desk.tx, client)), default=0)


def _is_stale(desk: Desk, draft: Draft, client: Client) -> bool:
    return draft.answers.get(KEPT) != str(_newest_number(desk, client))


def _client(desk: Desk, draft: Draft) -> Client | None:
    """The client of a draft, if she is still the therapist's."""
    found = people.client_by_code(desk.tx, desk.clinic.id, draft.code)
    return found if found is not None and found.therapist_id == desk.staff.id else None


def in_reach(desk: Desk, draft: Draft) -> bool:
    """Whether the client a draft is about is the therapist's, or not known yet.

    A file may name anybody's client, and a client may have been handed over since a change was begun.
    """
    if draft.kind is DraftKind.NEW:
        return True  # a code that is taken meanwhile is refused where it is put in force
    known = people.client_by_code(desk.tx, desk.clinic.id, draft.code)
    return known.therapist_id == desk.staff.id if known is not None else draft.kind is DraftKind.FILE


def _label(desk: Desk, draft: Draft) -> str:
    client = _client(desk, draft)
    return draft.code if client is None else client.label(desk.clinic.labels)


def _today(desk: Desk, client: Client | None) -> dt.date:
    return desk.today if client is None else local_time.day_in(client.zone, desk.now)


def _bench(desk: Desk, draft: Draft, *, fresh: bool) -> Bench:
    client, book = _client(desk, draft), desk.office.book
    record = Record()
    if client is not None and draft.document is not None:
        file = prescription_file.from_document(draft.document, draft.code)
        record = prescribing.record_of(desk.tx, client, file)
    today = _today(desk, client)
    decisions = {one.exercise: one for one in gating.gates(book.catalogue, record, today, book.limits)}
    label, by = _label(desk, draft), desk.staff.code
    return Bench(label, today, book.catalogue, desk.office.templates, decisions, by, fresh=fresh)


def pressed(desk: Desk, draft: Draft, act: str, token: str, message_id: int | None) -> None:
    """A button of a change or a file."""
    bench = _bench(desk, draft, fresh=message_id is None)
    if act == "force" and (draft.kind is DraftKind.FILE or change_form.now_asked(draft, bench) == form.HUB):
        _put_in_force(desk, draft, message_id)
        return
    next_one = change_form.pressed(draft, act, token, bench) if draft.kind is DraftKind.CHANGE else None
    if next_one is None:
        say(desk, Say("staff.old_button"))
        return
    drafts.put(desk.tx, next_one, desk.now)
    show(desk, next_one, message_id)


def typed(desk: Desk, draft: Draft, text: str) -> None:
    """A typed answer of a change."""
    bench = _bench(desk, draft, fresh=True)
    next_one = change_form.typed(draft, text, bench)
    if next_one is None:
        say(desk, Say("form.again", {"client": bench.label}))
        return
    if next_one.answers.get("why", "").startswith("said: ") and indiscreet(text):
        say(desk, Say("change.indiscreet", {"client": bench.label}))
        return
    wait(desk, None)
    drafts.put(desk.tx, next_one, desk.now)
    show(desk, next_one)


def show(desk: Desk, draft: Draft, message_id: int | None = None) -> None:
    """Where a change or a file stands."""
    if not in_reach(desk, draft):
        drafts.drop(desk.tx, draft.id)
        say(desk, Say("staff.no_client", {"code": draft.code}))
        return
    if draft.kind is DraftKind.FILE:
        _show_file(desk, draft, message_id)
        return
    bench = _bench(desk, draft, fresh=message_id is None)
    fit = True
    try:
        lines = list(_lines(desk, draft, bench))
    except RefusedError as error:
        lines, fit = list(error.faults), False
    if fit and change_form.reads_text(draft, bench):
        wait(desk, {"for": "draft", "draft": draft.id.hex})
    replace(desk, message_id, change_form.screen(draft, bench, lines, fit))


def _lines(desk: Desk, draft: Draft, bench: Bench) -> Iterator[str]:
    """What a question is about. Raises RefusedError where the change could not be put in force."""
    book, asked = desk.office.book, change_form.now_asked(draft, bench)
    base = prescription_file.prescription(
        prescription_file.from_document(change_form.base_of(draft), draft.code)
    )
    if asked == "what":
        yield from words.programme(bench.label, base, book.catalogue)
        return
    if asked == "which":
        yield from change_form.which_lines(draft, bench)
        return
    if asked == "value":
        yield from _about_release(draft, bench)
        return
    client = _client(desk, draft)
    if client is None:
        raise RefusedError(f"{draft.code}: no client of yours")
    file = _changed(desk, draft, client)
    plan = prescription_file.prescription(file)
    yield from words.changes(changes(base, plan), book.catalogue)
    if asked == form.HUB:
        record = prescribing.record_of(desk.tx, client, file)
        prescription_check.refuse_unless_fit(file, book, draft.code, record)
        yield copy.text("en", "change.from", {"day": form.day_text(plan.starts_on)})
        if base.review_on <= plan.starts_on and draft.answers["what"] != "review":
            yield copy.text("en", "change.review_moved", {})
        yield from words.dose(dose.dose(plan, book.catalogue, book.figures))
        yield copy.text("en", "change.why_line", {"text": change_form.why_text(draft)})


def _about_release(draft: Draft, bench: Bench) -> Iterator[str]:
    exercise = change_form.exercise_to_release(draft, bench)
    if draft.answers["what"] != "release" or exercise is None:
        return
    yield exercise.title
    decision = bench.gates[exercise.id]
    if any(why.condition in NEVER_SET_ASIDE for why in decision.reasons):
        raise RefusedError(copy.text("en", "change.never", {"text": words.reasons(decision)}))
    if decision.reasons:
        yield copy.text("en", "change.aside", {"text": words.reasons(decision)})


def _changed(desk: Desk, draft: Draft, client: Client) -> PrescriptionFile:
    """The next version a change leads to. Raises RefusedError for whatever is wrong with it."""
    bench = _bench(desk, draft, fresh=False)
    starts_on = _next_start(desk, client, bench.today)
    document = change_form.changed(draft, bench, starts_on)
    return prescription_file.from_document(document, draft.code, desk.office.book, bench.today)


def _next_start(desk: Desk, client: Client, today: dt.date) -> dt.date:
    """The first day a next version may start: tomorrow, or the day after the newest one's start."""
    latest = max(one.prescription.starts_on for one in prescribing.stored(desk.tx, client))
    return max(today, latest) + ONE_DAY


def _file_of(desk: Desk, draft: Draft) -> PrescriptionFile:
    today = _today(desk, people.client_by_code(desk.tx, desk.clinic.id, draft.code))
    return prescription_file.from_document(draft.document or {}, draft.code, desk.office.book, today)


def _show_file(desk: Desk, draft: Draft, message_id: int | None) -> None:
    label = _label(desk, draft)
    head = copy.text("en", "file.head", {"client": label})
    discard = (Button("form.button.discard", form.data(draft, "discard")),)
    try:
        file = _file_of(desk, draft)
        client = people.client_by_code(desk.tx, desk.clinic.id, draft.code)
        record = None if client is None else prescribing.record_of(desk.tx, client, file)
        prescription_check.refuse_unless_fit(file, desk.office.book, draft.code, record)
        lines = [*_difference(desk, file, client), *summary_of(file, desk.office)]
    except RefusedError as error:
        lines = list(error.faults)
        replace(desk, message_id, Say("form.unfit", {"head": head, "lines": "\n".join(lines)}, (discard,)))
        return
    force = (Button("form.button.force", form.data(draft, "force"), {"client": label}),)
    text = "\n".join(lines)[: form.LONGEST_LINES]
    replace(
        desk, message_id, Say("file.hub", {"head": head, "lines": text}, (force, discard), keep_private=True)
    )


def _difference(desk: Desk, file: PrescriptionFile, client: Client | None) -> tuple[str, ...]:
    """What a file changes against the version in force, in words; nothing for a new client."""
    before = [] if client is None else prescribing.stored(desk.tx, client)
    if not before:
        return ()
    latest = max(before, key=lambda one: one.prescription.starts_on)
    found = changes(latest.prescription, prescription_file.prescription(file))
    told = words.changes(found, desk.office.book.catalogue)
    return (words.say("against", version=latest.version), *told)


def _put_in_force(desk: Desk, draft: Draft, message_id: int | None) -> None:
    client = people.client_by_code(desk.tx, desk.clinic.id, draft.code)
    try:
        if client is None:
            made = _enrol(desk, draft)
            _close(desk, draft, message_id)
            tell_enrolled(desk, made)
            return
        done = _next_version(desk, draft, client)
    except RefusedError as error:
        head = copy.text("en", "file.head", {"client": draft.code})
        rows = ((Button("form.button.discard", form.data(draft, "discard")),),)
        replace(desk, message_id, Say("form.unfit", {"head": head, "lines": "\n".join(error.faults)}, rows))
        return
    _close(desk, draft, message_id)
    told = "change.told" if client.stage is Stage.ACTIVE else "change.told_at_start"
    values: Values = {
        "client": client.label(desk.clinic.labels),
        "number": done.version,
        "day": form.day_text(done.starts_on),
        "code": desk.staff.code,
        "when": clinic_time(desk, desk.now),
        "text": copy.text("en", told, {}),
    }
    say(desk, Say("change.done", values))


def _close(desk: Desk, draft: Draft, message_id: int | None) -> None:
    drafts.drop(desk.tx, draft.id)
    if message_id is not None:
        post.take_buttons(desk.tx, desk.chat, message_id, desk.now)


def _enrol(desk: Desk, draft: Draft) -> Enrolled:
    """A client whom a file makes known. Raises RefusedError."""
    file, office = _file_of(desk, draft), desk.office
    with desk.tx.attempt():
        return enrolling.enrol(
            desk.tx, office.approval, desk.clinic, desk.staff, file, desk.now, office.book, draft.code
        )


def _next_version(desk: Desk, draft: Draft, client: Client) -> Prescribed:
    """The next version of a client's. Raises RefusedError."""
    if client.therapist_id != desk.staff.id:
        raise RefusedError(f"{draft.code}: no client of yours")
    if draft.kind is DraftKind.CHANGE and _is_stale(desk, draft, client):
        raise RefusedError(f"{draft.code}: {copy.text('en', 'change.stale', {})}")
    is_file = draft.kind is DraftKind.FILE
    file = _file_of(desk, draft) if is_file else _changed(desk, draft, client)
    why = "" if is_file else change_form.why_text(draft)
    with desk.tx.attempt():
        return prescribing.put_in_force(
            desk.tx, client, file, desk.staff, desk.now, desk.office.book, draft.code, why=why
        )
