"""A therapist's turn on her caseload: pages, a client's card, steps of the dose, visits and reviews.

Whatever a button carries, only her own clients are shown and only they can be decided about.
"""

import datetime as dt
import uuid
from collections.abc import Mapping
from dataclasses import replace

from bot.conversation import card, finding_line
from bot.conversation import caseload as talk
from bot.conversation.card import CardView
from bot.conversation.incoming import Command, Incoming, Press, Text
from bot.conversation.speech import Say, Values
from bot.domain import local_time
from bot.domain.caseload_filters import Filter
from bot.domain.client_week import StoppedBy
from bot.domain.contacts import zone_of
from bot.domain.ladder import Step
from bot.domain.people import Chat, Client, Role, Stage
from bot.domain.progress import Advice
from bot.domain.track import Pause
from bot.domain.visits import Attendance, Review, ReviewOutcome
from bot.errors import RefusedError
from bot.rules import prescription_file
from bot.service import (
    client_list,
    client_record,
    client_side,
    drafting,
    ending,
    prescribing,
    prospects,
    staff_side,
    stepping,
    window,
)
from bot.service.desk import Desk, is_about
from bot.service.office import Office
from bot.store import chats, diary, people, visits
from bot.store.base import Tx

LINE_WITHIN = dt.timedelta(minutes=10)  # a line that comes later was meant for something else
LINES = {"card-finding", "card-review"}  # what a conversation waits for; others wait for other lines


def turn(tx: Tx, office: Office, chat: Chat, incoming: Incoming, inbox_id: uuid.UUID) -> bool:
    """Answer an update of a therapist that is about her caseload; False when it is about something else."""
    if chat.owner_id is None or chat.role is not Role.THERAPIST:
        return False
    body = incoming.body
    waiting = chats.waiting(tx, chat.owner_id, office.clock.now() - LINE_WITHIN) or {}
    if not is_about(body, talk.PREFIX, {"client", "clients"}, waiting.get("for") in LINES):
        return False
    staff = people.staff_by_id(tx, chat.owner_id)
    clinic = people.clinic_by_id(tx, staff.clinic_id)
    desk = Desk(tx, office, chat, staff, clinic, inbox_id, office.clock.now())
    match body:
        case Press(data=data, message_id=message_id):
            _pressed(desk, incoming, data, message_id)
        case Command(name="clients"):
            desk.waits(None)
            client_list.show(desk, Filter.ALL, 0, None)
        case Command(argument=code):
            desk.waits(None)
            _open(desk, people.client_by_code(tx, staff.clinic_id, code) if code else None, named=bool(code))
        case Text(text=text):
            _typed(desk, incoming, waiting, text.strip())
        case _:
            return False
    return True


def _hers(desk: Desk, client: Client | None) -> Client | None:
    """The client, if she is this therapist's own."""
    return client if client is not None and client.therapist_id == desk.staff.id else None


def _client(desk: Desk, name: str) -> Client | None:
    try:
        client_id = uuid.UUID(hex=name)
    except ValueError:
        return None
    return _hers(desk, people.clients_by_id(desk.tx, [client_id]).get(client_id))


def _open(desk: Desk, client: Client | None, *, named: bool) -> None:
    hers = _hers(desk, client)
    if hers is not None:
        desk.says(talk.main(view_of(desk, hers)))
    else:
        desk.says(Say("caseload.nobody" if named else "caseload.which"))


def view_of(desk: Desk, client: Client) -> CardView:
    """Everything a card of hers may show."""
    book = desk.office.book
    found = window.weeks(
        desk.tx,
        [desk.staff.id],
        zone_of(desk.clinic.card),
        desk.clinic.labels,
        desk.now,
        book,
        only=client.id,
    )
    return CardView(
        record=client_record.gather(desk.tx, client, desk.clinic, desk.now),
        week=found[0].week if found else None,
        reviews=visits.reviews_of(desk.tx, [client.id]).get(client.id, ()),
        visits=visits.visits_of(desk.tx, client.id),
        catalogue=book.catalogue,
        criteria=book.criteria,
        figures=book.figures,
        titles={key: sign.title for key, sign in desk.office.rules.signs.items()},
    )


def _pressed(desk: Desk, incoming: Incoming, data: str, message_id: int | None) -> None:
    # A press ends the wait for a line, so that what is typed later is not taken for it.
    desk.waits(None)
    verb, *rest = data.split(":")[1:]
    if verb == "all":
        # Under the digest a page is a message of its own; after that one page takes the place of another.
        client_list.show(desk, Filter.ALL, 0, None)
        return
    if verb == "list":
        client_list.press(desk, rest[0] if rest else "", message_id)
        return
    client = _client(desk, rest[-1] if rest else "")
    if client is None:
        desk.says(Say("caseload.nobody"))
        return
    argument = rest[0] if len(rest) > 1 else ""
    match verb:
        case "card":
            desk.says(talk.main(view_of(desk, client)))
        case "main":
            desk.shows(talk.main(view_of(desk, client)), message_id)
        case "diary":
            number = int(argument) if argument.isdecimal() else 0
            desk.shows(talk.diary(view_of(desk, client), number), message_id)
        case "words":
            view = view_of(desk, client)
            desk.shows(talk.words(view), message_id)
            diary.mark_read(desk.tx, [n.id for n in view.record.notes if n.read_at is None], desk.now)
        case "alerts":
            desk.shows(talk.alerts(view_of(desk, client)), message_id)
        case "called":
            diary.answer_calls(desk.tx, client.id, desk.now)
            desk.says(Say("caseload.called", {"client": client.label(desk.clinic.labels)}))
        case "pause":
            _pause(desk, client)
        case "resume":
            _resume(desk, client, incoming)
        case _:
            _decided(desk, client, incoming, verb, argument, message_id)


def _decided(
    desk: Desk, client: Client, incoming: Incoming, verb: str, argument: str, message_id: int | None
) -> None:
    """Steps, visits and reviews."""
    view = view_of(desk, client)
    match verb:
        case "step":
            _propose(desk, view, _judged_step(view), with_advice=True)
        case "put":
            _confirm(desk, view, argument, message_id)
        case "sign":
            _sign(desk, view, argument, message_id)
        case "change":
            command = Command("change", client.code)
            drafting.turn(desk.tx, desk.office, desk.chat, replace(incoming, body=command), desk.inbox_id)
        case "leave":
            desk.done_with(message_id)
            desk.says(Say("caseload.left", {"client": view.label}))
        case "visit":
            desk.says(talk.visit(view, view.record.today))
        case "came" if argument in list(Attendance):
            _came(desk, view, Attendance(argument), message_id)
        case "rev" if argument in list(ReviewOutcome):
            _review(desk, view, ReviewOutcome(argument), message_id)
        case "next":
            _next(desk, view, argument, message_id)
        case _:
            desk.says(Say("staff.old_button"))


def _judged_step(view: CardView) -> Step | None:
    return view.judgement.step if view.judgement else None


def _propose(desk: Desk, view: CardView, step: Step | None, *, with_advice: bool) -> None:
    """What the figures say, and the step made ready as the next version, shown as what it changes."""
    book = desk.office.book
    lines = []
    if view.judgement is not None and with_advice:
        lines.append(card.advice(view, view.judgement))
    stands = stepping.now_of(desk.tx, view.record.client, desk.now)
    if stands is not None and step is not None and stands.newest == stands.version.version:
        try:
            made = stepping.made(stands, step, book)
        except RefusedError as error:
            desk.says(talk.refused(view, error.faults))
            return
        lines += [card.say("advice.change", step=line) for line in made.changes]
        lines.append(
            card.say("advice.start", starts=card.date(made.starts_on), review=card.date(made.review_on))
        )
        desk.says(talk.step(view, "\n".join(lines), step))
        return
    lines.append(card.say("advice.no-step"))
    if stands is not None and not with_advice:
        lines += [f"{card.ground_text(why, book.criteria)}." for why in stepping.against(stands)]
    desk.says(talk.step(view, "\n".join(lines), None))


def _confirm(desk: Desk, view: CardView, name: str, message_id: int | None) -> None:
    desk.done_with(message_id)
    stands = stepping.now_of(desk.tx, view.record.client, desk.now)
    step = stepping.named(stands, desk.office.book, name) if stands else None
    if stands is None or step is None:
        desk.says(Say("caseload.changed_since", {"client": view.label}))
        return
    made = stepping.made(stands, step, desk.office.book)
    text = "\n".join(made.changes)
    desk.says(talk.confirm(view, name, made.starts_on, desk.staff.code, text))


def _sign(desk: Desk, view: CardView, name: str, message_id: int | None) -> None:
    """Put the step in force as the next version, signed; a gate that stands against it refuses it."""
    desk.done_with(message_id)
    book = desk.office.book
    client = view.record.client
    stands = stepping.now_of(desk.tx, client, desk.now)
    step = stepping.named(stands, book, name) if stands else None
    if stands is None or step is None:
        desk.says(Say("caseload.changed_since", {"client": view.label}))
        return
    try:
        made = stepping.made(stands, step, book)
        done = prescribing.put_in_force(desk.tx, client, made.file, desk.staff, desk.now, book, view.label)
    except RefusedError as error:
        desk.says(talk.refused(view, error.faults))
        return
    outcome = ReviewOutcome.PROGRESS if step.is_harder else ReviewOutcome.REGRESS
    _keep(desk, client, outcome, "", None)
    starts = card.date(done.starts_on)
    values: Values = {"client": view.label, "version": done.version, "starts": starts}
    desk.says(Say("caseload.in_force", values))


def _keep(desk: Desk, client: Client, outcome: ReviewOutcome, reason: str, next_on: dt.date | None) -> None:
    today = local_time.day_in(client.zone, desk.now)
    review = Review(today, outcome, reason, next_on, desk.staff.code, desk.now)
    visits.add_review(desk.tx, client.id, desk.staff.id, review)


def _came(desk: Desk, view: CardView, attendance: Attendance, message_id: int | None) -> None:
    desk.done_with(message_id)
    today = view.record.today
    if not any(one.on == today and one.attendance is attendance for one in view.visits):
        visits.add_visit(desk.tx, view.record.client.id, desk.staff.id, today, attendance, desk.now)
    if attendance is Attendance.ATTENDED:
        desk.waits({"for": "card-finding", "client": view.record.client.id.hex})
    desk.says(talk.visit_kept(view, attendance, today))


def _review(desk: Desk, view: CardView, outcome: ReviewOutcome, message_id: int | None) -> None:
    if outcome.needs_reason:
        desk.done_with(message_id)
        desk.waits({"for": "card-review", "outcome": outcome.value, "client": view.record.client.id.hex})
        desk.says(talk.ask_reason(view, outcome))
        return
    if outcome is ReviewOutcome.HOLD:
        desk.done_with(message_id)
        desk.says(talk.ask_next(view, outcome))
        return
    # A step still has to be chosen and signed: until then the other outcomes stay at hand.
    harder = outcome is ReviewOutcome.PROGRESS
    judged = view.judgement
    wanted = Advice.PROGRESS if harder else Advice.REGRESS
    stands = stepping.now_of(desk.tx, view.record.client, desk.now)
    step = judged.step if judged and judged.advice is wanted else None
    if step is None and stands is not None:
        step = stepping.first(stands, desk.office.book, harder=harder)
    _propose(desk, view, step, with_advice=bool(judged and judged.advice is wanted))


def _next(desk: Desk, view: CardView, argument: str, message_id: int | None) -> None:
    desk.done_with(message_id)
    outcome, _, weeks = argument.partition(".")
    if outcome not in list(ReviewOutcome) or weeks not in {f"{one}" for one in talk.NEXT_WEEKS}:
        desk.says(Say("staff.old_button"))
        return
    next_on = view.record.today + dt.timedelta(weeks=int(weeks))
    _keep(desk, view.record.client, ReviewOutcome(outcome), "", next_on)
    desk.says(talk.review_done(view, ReviewOutcome(outcome), next_on))


def _typed(desk: Desk, incoming: Incoming, what: Mapping[str, object], text: str) -> None:
    client = _client(desk, str(what.get("client", "")))
    if client is None:
        desk.waits(None)
        desk.says(Say("caseload.nobody"))
        return
    view = view_of(desk, client)
    if what.get("for") == "card-finding":
        desk.waits(None)
        desk.says(talk.visit_read(view, finding_line.told(_keep_finding(desk, client, text))))
        return
    outcome = ReviewOutcome(str(what["outcome"]))
    if len(text) < talk.SHORTEST_REASON:
        desk.says(Say("caseload.review.short", {"client": view.label}))
        return
    desk.waits(None)
    next_on = None
    if outcome is ReviewOutcome.REFER:
        next_on = view.record.today + dt.timedelta(weeks=stepping.REVIEW_WEEKS)
    _keep(desk, client, outcome, text, next_on)
    desk.says(talk.review_done(view, outcome, next_on), 1)
    if outcome is ReviewOutcome.DISCHARGE:
        # What the client is told, and whether an open alert stands in the way, is settled there.
        command = Command("finish", f"{client.code} {text}")
        ending.turn(desk.tx, desk.office, desk.chat, replace(incoming, body=command), desk.inbox_id)


def _keep_finding(desk: Desk, client: Client, text: str) -> dict[str, object]:
    """Keep a line of findings whole; what was read from it only if it makes a finding."""
    today = local_time.day_in(client.zone, desk.now)
    fields = finding_line.read(text)
    documents = people.prescription_documents(desk.tx, [client.id]).get(client.id, [])
    if fields and documents:
        whole = prospects.with_findings(documents[-1][1], [(today, fields)])
        try:
            prescription_file.from_document(whole, "", desk.office.book, today)
        except RefusedError:
            fields = {}
    detail = {"words": text, "fields": fields}
    visits.add_finding(desk.tx, client.id, desk.staff.id, today, detail, desk.now)
    return fields


def _pause(desk: Desk, client: Client) -> None:
    """Pause a programme until the therapist resumes it; the client is told in a line."""
    label = client.label(desk.clinic.labels)
    track = diary.track_of(desk.tx, client.id)
    if client.stage is not Stage.ACTIVE or track is None:
        desk.says(Say("staff.old_button"))
        return
    client_side.pause(desk.tx, client, Pause(None, StoppedBy.THERAPIST.value), desk.now)
    values = {"phone": desk.clinic.card.phone}
    key = f"paused:{client.id.hex}:{desk.now.isoformat()}"
    client_side.tell(desk.tx, client, Say("paused.for_you", values), key, desk.now)
    desk.says(Say("caseload.paused", {"client": label}))


def _resume(desk: Desk, client: Client, incoming: Incoming) -> None:
    """The same as /resume with her code: after an emergency it asks who has reviewed her."""
    command = replace(incoming, body=Command("resume", client.code))
    staff_side.turn(desk.tx, desk.office, desk.chat, command, desk.inbox_id)
