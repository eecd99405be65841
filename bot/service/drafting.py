"""A therapist's turn at a prescription in the making: the guided form, and what follows it in the room."""

import datetime as dt
import re
import uuid

from bot.conversation import form, form_document
from bot.conversation.incoming import Attached, Body, Command, Incoming, Media, Press, Text
from bot.conversation.speech import Button, Say
from bot.domain import dose
from bot.domain.drafts import Draft, DraftKind
from bot.domain.people import Chat, Role
from bot.errors import RefusedError
from bot.rules import prescription_check, prescription_file
from bot.rules.prescription_file import PrescriptionFile
from bot.rules.prescription_models import CODE_SHAPE
from bot.service import changing, enrolling, files, post, rehearsal
from bot.service.at_desk import Desk, replace, say, summary_of, tell_enrolled, wait
from bot.service.office import Office
from bot.store import chats, drafts, people
from bot.store.base import Tx
from bot.store.ids import new_id

LINE_WITHIN = dt.timedelta(minutes=10)  # a line that comes later was meant for something else
MOST_CODES = 1000


def turn(tx: Tx, office: Office, chat: Chat, incoming: Incoming, inbox_id: uuid.UUID) -> bool:
    """Answer an update of a therapist that is about a prescription in the making; False when it is not."""
    if chat.owner_id is None or chat.role is not Role.THERAPIST:
        return False
    body = incoming.body
    waiting = chats.waiting(tx, chat.owner_id, office.clock.now() - LINE_WITHIN) or {}
    mine = str(waiting.get("for", "")) in {"draft", "draft_code"}
    if not (_is_about_drafts(body) or (mine and isinstance(body, Text))):
        return False
    staff = people.staff_by_id(tx, chat.owner_id)
    clinic = people.clinic_by_id(tx, staff.clinic_id)
    desk = Desk(tx, office, chat, staff, clinic, office.clock.now(), inbox_id)
    match body:
        case Command(name="new", argument=code):
            _new(desk, code)
        case Command(name="change", argument=code):
            changing.open_change(desk, code)
        case Command(name="room", argument=code):
            rehearsal.show(tx, chat, staff, clinic, code, desk.key, desk.now)
        case Press(data=data, message_id=message_id):
            _pressed(desk, data, message_id)
        case Text(text=text):
            _typed(desk, waiting, text)
        case Media(file=Attached() as file, edited=False):
            files.asked(desk, file.file_id, file.name, file.size)
        case _:
            return False
    return True


def _is_about_drafts(body: Body) -> bool:
    match body:
        case Command(name="new" | "change" | "room"):
            return True
        case Press(data=data):
            return data.startswith(("dr:", "room:", "code:"))
        case Media(kind="document", file=Attached(), edited=False):
            return True
        case _:
            return False


def _new(desk: Desk, typed: str) -> None:
    """A new client by her code; without one it is asked for, with the next free one on a button."""
    code = typed.strip()
    free = _next_free(desk)
    if not code:
        wait(desk, {"for": "draft_code"})
        rows = ((Button("form.button.code", f"code:{free}", {"client": free}),),)
        say(desk, Say("form.which_code", {"code": free}, rows))
        return
    if not re.fullmatch(CODE_SHAPE, code, re.ASCII):
        wait(desk, {"for": "draft_code"})
        say(desk, Say("form.code_wrong", {"code": free}))
        return
    if people.client_by_code(desk.tx, desk.clinic.id, code) is not None:
        wait(desk, {"for": "draft_code"})
        say(desk, Say("form.code_taken", {"client": code}))
        return
    found = drafts.by_code(desk.tx, desk.staff.id, code)
    if found is None or found.kind is not DraftKind.NEW:
        found = Draft(new_id(desk.now), desk.staff.id, code, DraftKind.NEW)
        drafts.put(desk.tx, found, desk.now)
    show(desk, found)


def _next_free(desk: Desk) -> str:
    """The code after the highest of the therapist's own, such as K8 after K7."""
    codes = [client.code for client in people.clients_of(desk.tx, desk.staff.id)]
    numbered = [found for code in codes if (found := re.fullmatch(r"(.*?)(\d{1,6})", code))]
    head, number = max(((m[1], int(m[2])) for m in numbered), key=lambda pair: pair[1], default=("K", 0))
    taken = set(codes)
    tries = (f"{head}{number + step}" for step in range(1, MOST_CODES))
    return next(
        code
        for code in tries
        if code not in taken and people.client_by_code(desk.tx, desk.clinic.id, code) is None
    )


def _pressed(desk: Desk, data: str, message_id: int | None) -> None:
    verb, _, rest = data.partition(":")
    wait(desk, None)
    if verb == "code":
        if message_id is not None:
            post.take_buttons(desk.tx, desk.chat, message_id, desk.now)
        _new(desk, rest)
        return
    if verb == "room":
        rehearsal.pressed(desk.tx, desk.chat, desk.staff, desk.clinic, rest, message_id, desk.key, desk.now)
        return
    name, _, rest = rest.partition(":")
    act, _, token = rest.partition(":")
    draft = _mine(desk, name)
    if draft is None:
        say(desk, Say("staff.old_button"))
        return
    label = draft.code
    match act:
        case "discard":
            drafts.drop(desk.tx, draft.id)
            replace(desk, message_id, Say("form.discarded", {"client": label}))
        case _ if draft.kind is not DraftKind.NEW:
            changing.pressed(desk, draft, act, token, message_id)
        case "force" if form.now_asked(draft, desk.office.templates) == form.HUB:
            _put_in_force(desk, draft, message_id)
        case _:
            moved = form.pressed(draft, act, token, desk.office.templates)
            if moved is None:
                say(desk, Say("staff.old_button"))
                return
            drafts.put(desk.tx, moved, desk.now)
            show(desk, moved, message_id)


def _mine(desk: Desk, name: str) -> Draft | None:
    """The draft a button names, if it is hers: what a button carries is never trusted."""
    try:
        found = drafts.by_id(desk.tx, uuid.UUID(hex=name))
    except ValueError:
        return None
    if found is None or found.staff_id != desk.staff.id or not changing.in_reach(desk, found):
        return None
    return found


def _typed(desk: Desk, waiting: dict[str, str], text: str) -> None:
    if waiting["for"] == "draft_code":
        _new(desk, text)
        return
    draft = _mine(desk, waiting.get("draft", ""))
    if draft is None:
        wait(desk, None)
        say(desk, Say("staff.old_button"))
        return
    if draft.kind is not DraftKind.NEW:
        changing.typed(desk, draft, text)
        return
    moved = form.typed(draft, text, _form_desk(desk, draft, fresh=True))
    if moved is None:
        say(desk, Say("form.again", {"client": draft.code}))
        return
    wait(desk, None)
    drafts.put(desk.tx, moved, desk.now)
    show(desk, moved)


def _form_desk(desk: Desk, draft: Draft, *, fresh: bool) -> form.Desk:
    return form.Desk(desk.office.templates, draft.code, desk.today, fresh=fresh)


def show(desk: Desk, draft: Draft, message_id: int | None = None) -> None:
    """The screen of where a draft stands: in place of the message that was pressed, else a new one."""
    of_form = _form_desk(desk, draft, fresh=message_id is None)
    if form.now_asked(draft, desk.office.templates) == form.HUB:
        summary, fit = _summary(desk, draft)
        screen = form.screen(draft, of_form, summary, fit)
    else:
        screen = form.screen(draft, of_form)
    if form.reads_text(draft, desk.office.templates):
        wait(desk, {"for": "draft", "draft": draft.id.hex})
    replace(desk, message_id, screen)


def _file(desk: Desk, draft: Draft) -> PrescriptionFile:
    """The prescription a draft has come to. Raises RefusedError with every fault."""
    book, name = desk.office.book, draft.code
    template = form.template_of(draft, desk.office.templates)
    if template is None:
        raise RefusedError(f"{name}: no starting point")
    who = {"client": draft.code, "zone": desk.clinic.card.zone}
    first = form_document.document(draft.answers, template, desk.office.templates, who, desk.today)
    file = prescription_file.from_document(first, name, book, desk.today)
    findings = prescription_file.record(file).findings
    proposed = dose.propose(findings, desk.today, book.figures)
    made = form_document.document(draft.answers, template, desk.office.templates, who, desk.today, proposed)
    return prescription_file.from_document(made, name, book, desk.today)


def _summary(desk: Desk, draft: Draft) -> tuple[tuple[str, ...], bool]:
    """What a draft has come to in words, and whether it could be put in force; else why not."""
    book = desk.office.book
    try:
        file = _file(desk, draft)
        prescription_check.refuse_unless_fit(file, book, draft.code)
    except RefusedError as error:
        return error.faults, False
    return summary_of(file, desk.office), True


def _put_in_force(desk: Desk, draft: Draft, message_id: int | None) -> None:
    try:
        file = _file(desk, draft)
        with desk.tx.attempt():
            made = enrolling.enrol(
                desk.tx,
                desk.office.approval,
                desk.clinic,
                desk.staff,
                file,
                desk.now,
                desk.office.book,
                draft.code,
            )
    except RefusedError as error:
        screen = form.screen(
            draft, _form_desk(desk, draft, fresh=message_id is None), error.faults, fit=False
        )
        replace(desk, message_id, screen)
        return
    drafts.drop(desk.tx, draft.id)
    if message_id is not None:
        post.take_buttons(desk.tx, desk.chat, message_id, desk.now)
    tell_enrolled(desk, made)
