"""What is done in the room with a new client: invite opened, a trial message, her answer, her own moments.

The list asks the store each time; nothing is ticked by hand. The trial is counted nowhere.
"""

import datetime as dt
import uuid

from bot.conversation import copy
from bot.conversation.speech import Button, Say
from bot.domain.people import Chat, Client, Clinic, Staff, Stage
from bot.service import post
from bot.store import chats, diary, outbox, people
from bot.store.base import Tx


def _sent_key(client: Client) -> str:
    return f"trial:{client.id.hex}"


def _answered_key(client: Client) -> str:
    return f"trial-answered:{client.id.hex}"


def steps(tx: Tx, client: Client) -> dict[str, bool]:
    """Each step, by the end of its sentence id, and whether it is done."""
    choice = diary.choices_of(tx, [client.id]).get(client.id)
    return {
        "invite": client.stage is Stage.ACTIVE and chats.chat_of_owner(tx, client.id) is not None,
        "nudge": outbox.sent_message(tx, _sent_key(client)) is not None,
        "answer": outbox.is_there(tx, _answered_key(client)),
        "cues": choice is not None and any(choice.cues),
    }


def screen(tx: Tx, client: Client, clinic: Clinic) -> Say:
    """The list, with what can be done next."""
    lines = []
    for step, done in steps(tx, client).items():
        what = copy.text(copy.FALLBACK, f"room.{step}", {})
        lines.append(copy.text(copy.FALLBACK, f"room.line.{'done' if done else 'open'}", {"what": what}))
    rows = (
        (Button("room.button.nudge", f"room:nudge:{client.id.hex}"),),
        (Button("room.button.again", f"room:again:{client.id.hex}"),),
    )
    return Say("room.list", {"client": client.label(clinic.labels), "lines": "\n".join(lines)}, rows)


def show(
    tx: Tx, chat: Chat, staff: Staff, clinic: Clinic, code: str, inbox_id: uuid.UUID, now: dt.datetime
) -> None:
    """The list of a client by her code."""
    wanted = code.strip().casefold()
    found = [one for one in people.clients_of(tx, staff.id) if one.code.casefold() == wanted]
    said = screen(tx, found[0], clinic) if found else Say("staff.no_client", {"code": code.strip() or "?"})
    post.put_say(tx, chat, said, f"re:{inbox_id.hex}:0", now)


def pressed(
    tx: Tx,
    chat: Chat,
    staff: Staff,
    clinic: Clinic,
    data: str,
    message_id: int | None,
    inbox_id: uuid.UUID,
    now: dt.datetime,
) -> None:
    """A button under the list. `data`: the act and the client, never trusted."""
    act, _, name = data.partition(":")
    client = next((one for one in people.clients_of(tx, staff.id) if one.id.hex == name), None)
    if client is None:
        post.put_say(tx, chat, Say("staff.old_button"), f"re:{inbox_id.hex}:0", now)
        return
    label = client.label(clinic.labels)
    if act == "nudge":
        if not steps(tx, client)["invite"]:
            post.put_say(tx, chat, Say("room.not_open", {"client": label}), f"re:{inbox_id.hex}:0", now)
            return
        rows = ((Button("trial.button.done", "trial:done"),),)
        post.put_for_owner(tx, client.id, Say("trial.nudge", rows=rows), _sent_key(client), now)
        post.put_say(tx, chat, Say("room.sent", {"client": label}), f"re:{inbox_id.hex}:0", now)
    elif message_id is not None:
        post.rewrite(tx, chat, message_id, screen(tx, client, clinic), f"edit:{inbox_id.hex}", now)


def answered(tx: Tx, chat: Chat, client: Client, now: dt.datetime) -> None:
    """She has answered the trial message."""
    post.put_say(tx, chat, Say("trial.answered"), _answered_key(client), now)
