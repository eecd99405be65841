"""A prescription file that a therapist sent as a document: asked for in one turn, fetched, then read.

Fetching takes the network, so it happens outside any transaction; a file that waits to be fetched is a row,
and survives a restart.
"""

from dataclasses import dataclass

from bot.conversation.speech import Say
from bot.domain.drafts import Draft, DraftKind
from bot.errors import RefusedError
from bot.rules import faults, prescription_file
from bot.service import changing
from bot.service.at_desk import Desk, say
from bot.service.office import Office
from bot.store import chats, drafts, people, sent_files
from bot.store.base import Tx
from bot.store.ids import new_id
from bot.store.sent_files import TRIES, SentFile

MOST_BYTES = prescription_file.LARGEST_FILE_BYTES
ENDINGS = (".toml", ".toml.txt")
LONGEST_NAME = 40
LONGEST_LINES = 3200


@dataclass(frozen=True, slots=True)
class Fetched:
    """The bytes of a file."""

    data: bytes


@dataclass(frozen=True, slots=True)
class TooLarge:
    """The platform says that it is larger than we take; nothing was fetched."""


@dataclass(frozen=True, slots=True)
class NotFetched:
    """It could not be fetched. final: trying again is no use."""

    final: bool


Result = Fetched | TooLarge | NotFetched


def asked(desk: Desk, file_id: str, name: str, size: int | None) -> None:
    """A therapist sent a document: it is fetched only if it can be a prescription file."""
    if not name.casefold().endswith(ENDINGS):
        say(desk, Say("file.not_toml"))
    elif size is not None and size > MOST_BYTES:
        say(desk, Say("file.too_large", {"number": MOST_BYTES // 1024}))
    else:
        short = faults.dotted((name[-LONGEST_NAME:],))
        file = SentFile(new_id(desk.now), desk.staff.id, file_id, short, 0)
        sent_files.add(desk.tx, file, desk.now)


def take(office: Office) -> SentFile | None:
    """The next file to fetch; committed, so that a kill loses none."""
    with office.begin() as tx:
        return sent_files.claim(tx, office.clock.now())


def settle(office: Office, file: SentFile, result: Result) -> None:
    """Read what was fetched, and answer its sender; what could not be fetched is tried a few times."""
    if isinstance(result, NotFetched) and not result.final and file.tries < TRIES:
        return
    with office.begin() as tx:
        desk = _desk(tx, office, file)
        if not sent_files.drop(tx, file.id) or desk is None:
            return
        match result:
            case Fetched(data=data):
                _read(desk, file, data)
            case TooLarge():
                say(desk, Say("file.too_large", {"number": MOST_BYTES // 1024}))
            case NotFetched():
                say(desk, Say("file.lost"))


def _desk(tx: Tx, office: Office, file: SentFile) -> Desk | None:
    chat = chats.chat_of_owner(tx, file.staff_id)
    if chat is None:
        return None
    staff = people.staff_by_id(tx, file.staff_id)
    clinic = people.clinic_by_id(tx, staff.clinic_id)
    return Desk(tx, office, chat, staff, clinic, office.clock.now(), file.id)


def _read(desk: Desk, file: SentFile, data: bytes) -> None:
    """Check the file; with every fault in its answer, or its summary with *put in force* and *discard*."""
    try:
        read = prescription_file.parse(
            faults.text_of(data, file.name, MOST_BYTES, prescription_file.EXPECTED),
            file.name,
            desk.office.book,
            desk.today,
        )
    except RefusedError as error:
        lines = "\n".join(error.faults)[:LONGEST_LINES]
        say(desk, Say("file.faults", {"lines": lines}, keep_private=True))
        return
    document = prescription_file.to_document(read)
    draft = Draft(new_id(desk.now), desk.staff.id, read.client, DraftKind.FILE, document=document)
    drafts.put(desk.tx, draft, desk.now)
    changing.show(desk, draft)
