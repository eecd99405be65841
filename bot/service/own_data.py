"""What a client may ask of what is kept of her: to see it, and to have it erased."""

import datetime as dt

from bot.conversation.effects import EraseAll, SendAllKept
from bot.conversation.speech import Say, to_json
from bot.domain.delivery import Kind
from bot.domain.people import Chat, Client, Clinic
from bot.reports import kept
from bot.service.client_record import gather
from bot.store import diary, erase, outbox, people
from bot.store.base import Tx
from bot.store.outbox import Letter

FILE_NAME = "what-is-kept.txt"


def act(
    tx: Tx,
    chat: Chat,
    client: Client,
    clinic: Clinic,
    wanted: SendAllKept | EraseAll,
    key: str,
    now: dt.datetime,
) -> None:
    """Put the file into her chat, or keep that she asked to be erased."""
    match wanted:
        case EraseAll():
            erase.ask(tx, client.id, now)
        case SendAllKept():
            plans = [plan for _, plan in people.prescription_documents(tx, [client.id]).get(client.id, [])]
            choice = diary.choices_of(tx, [client.id]).get(client.id)
            text = kept.text(gather(tx, client, clinic, now), plans, choice.cues if choice else ())
            said = to_json(Say("kept.file", keep_private=True))
            content = {**said, "method": "document", "file_name": FILE_NAME}
            letter = Letter(key, chat.id, chat.owner_id, Kind.REPLY, content, picture=text.encode())
            outbox.put(tx, letter, now)
