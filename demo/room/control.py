"""The control routes: people act, the clock moves, faults are ordered.

They serve the page, scripted runs and tests.
"""

import base64
from collections.abc import Awaitable, Callable
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from starlette.requests import Request
from starlette.responses import JSONResponse, Response, StreamingResponse
from starlette.routing import Route

from demo.room import args as arguments
from demo.room import faults, views
from demo.room.actions import ActionError, Actions, Done
from demo.room.args import Args
from demo.room.driver import Driver
from demo.room.moves import DEFAULT_ZONE, MoveError, Moves
from demo.room.room import Room
from demo.room.shapes import ApiError, Json, iso
from demo.room.state import MediaKind, Person
from demo.room.webhook import Webhook

MIMES: dict[MediaKind, str] = {
    "photo": "image/jpeg",
    "document": "application/pdf",
    "voice": "audio/ogg",
    "video": "video/mp4",
    "sticker": "image/webp",
}

Work = Callable[[Args], Awaitable[Json] | Awaitable[list[Json]]]


class Control:
    """The handlers of `/room/...`; a refusal is 400 with `{"error": "..."}`."""

    def __init__(self, room: Room, webhook: Webhook, driver: Driver) -> None:
        self._room = room
        self._webhook = webhook
        self._driver = driver
        self._acts = Actions(room)
        self._moves = Moves(room, driver)

    def routes(self) -> list[Route]:
        """All control routes."""
        posts: dict[str, Work] = {
            "people": self._add_person,
            "groups": self._add_group,
            "start": self._start,
            "say": self._say,
            "edit": self._edit,
            "press": self._press,
            "send-media": self._send_media,
            "document": self._document,
            "block": self._block,
            "unblock": self._unblock,
            "deactivate": self._deactivate,
            "driver": self._register,
            "clock": self._move,
            "faults": self._order_fault,
            "faults/clear": self._clear_faults,
        }
        gets: dict[str, Work] = {
            "people": self._list_people,
            "clock": self._show_clock,
            "stats": self._show_stats,
            "chats/{person:int}": self._show_chat,
        }
        return [
            *(Route(f"/room/{path}", _answering(work), methods=["POST"]) for path, work in posts.items()),
            *(Route(f"/room/{path}", _answering(work), methods=["GET"]) for path, work in gets.items()),
            Route("/room/events", self._events, methods=["GET"]),
            Route("/room/files/{file_id}", self._show_file, methods=["GET"]),
        ]

    async def _add_person(self, args: Args) -> Json:
        name = args.text("name").strip()
        if not name:
            raise ActionError("A person needs a name.")
        person = self._room.people.add(name, args.text("language_code") or None)
        self._room.show_person(person)
        return views.person(person)

    async def _add_group(self, args: Args) -> Json:
        members = args.json("people")
        if not isinstance(members, list) or not members:
            raise ActionError("A group needs people.")
        persons = [self._acts.person(int(str(member))) for member in members]
        return {"chat": self._acts.make_group(args.text("title", "A group"), persons).id}

    def _who(self, args: Args) -> Person:
        return self._acts.person(args.must_whole("person"))

    async def _start(self, args: Args) -> Json:
        person = self._who(args)
        return await self._after(args, person, "start", {}, self._acts.start(person, args.text("payload")))

    async def _say(self, args: Args) -> Json:
        person, words = self._who(args), args.text("text")
        done = self._acts.say(person, words, args.whole("chat"), args.text("forwarded_from") or None)
        return await self._after(args, person, "say", {"text": words}, done)

    async def _edit(self, args: Args) -> Json:
        person, words = self._who(args), args.text("text")
        done = self._acts.edit(person, args.must_whole("message_id"), words, args.whole("chat"))
        return await self._after(args, person, "edit", {"text": words}, done)

    async def _press(self, args: Args) -> Json:
        person = self._who(args)
        label, data = args.text("label") or None, args.text("data") or None
        if label is None and data is None:
            raise ActionError("A press needs a label or data.")
        done = self._acts.press(person, args.whole("message_id"), label, data, stub=args.flag("stub"))
        answer = await self._after(args, person, "press", {"label": label, "data": data}, done)
        press = self._room.presses[done.query_id or ""]
        return {**answer, "query": done.query_id, "answer": press.answer}

    async def _send_media(self, args: Args) -> Json:
        person = self._who(args)
        kind = next((known for known in MIMES if known == args.text("kind")), None)
        if kind is None:
            raise ActionError(f"The kind of a file is one of {', '.join(MIMES)}.")
        upload = args.files.get("file")
        media = self._room.files.store(
            kind,
            upload.data if upload else b"",
            upload.name if upload else args.text("name", kind),
            upload.mime if upload else MIMES[kind],
            declared_size=args.whole("size"),
            duration_s=0 if kind in ("photo", "document", "sticker") else args.whole("duration_s", 7) or 7,
            sides=(512, 512) if kind in ("photo", "video", "sticker") else (0, 0),
        )
        caption = args.text("caption")
        done = self._acts.send_media(person, media, caption, args.whole("chat"))
        return await self._after(args, person, "send-media", {"kind": kind, "caption": caption}, done)

    async def _document(self, args: Args) -> Json:
        person, upload = self._who(args), args.files.get("file")
        if upload is not None:
            name, mime, data = upload.name, upload.mime, upload.data
        elif args.has("base64"):
            name, mime, data = args.text("name"), args.text("mime"), base64.b64decode(args.text("base64"))
        else:
            name, mime, data = args.text("name"), args.text("mime"), args.text("content").encode()
        media = self._room.files.store("document", data, name or "file", mime or "application/octet-stream")
        done = self._acts.send_media(person, media, args.text("caption"), args.whole("chat"))
        content: Json = {"name": media.name, "size": media.size, "caption": args.text("caption")}
        return await self._after(args, person, "document", content, done)

    async def _block(self, args: Args) -> Json:
        person = self._who(args)
        return await self._after(args, person, "block", {}, self._acts.block(person))

    async def _unblock(self, args: Args) -> Json:
        person = self._who(args)
        return await self._after(args, person, "unblock", {}, self._acts.unblock(person))

    async def _deactivate(self, args: Args) -> Json:
        person = self._who(args)
        return await self._after(args, person, "deactivate", {}, self._acts.deactivate(person))

    async def _after(self, args: Args, person: Person, action: str, content: Json, done: Done) -> Json:
        """Write the act down and, on a frozen clock, wait for the bot, unless `settle` is false."""
        fields: Json = {
            "action": action,
            "person": person.name,
            "person_id": person.id,
            "chat": args.whole("chat", person.id),
            "content": content,
            "update_id": done.update_ids[-1] if done.update_ids else None,
        }
        self._room.record.line("action", fields)
        answer: Json = {
            "message_id": done.message_ids[-1] if done.message_ids else None,
            "message_ids": list(done.message_ids),
            "update_ids": list(done.update_ids),
            "settled": None,
        }
        wanted = str(args.values.get("settle", "true")).lower() != "false"
        if wanted and self._room.clock.frozen and self._driver.url is not None:
            answer |= await self._driver.settle(done.update_ids)
        return {**answer, "now": iso(self._room.now())}

    async def _register(self, args: Args) -> Json:
        self._driver.url = args.text("url").rstrip("/") or None
        return self._clock()

    async def _move(self, args: Args) -> Json:
        return {**self._clock(), **await self._moves.move(args), "now": iso(self._room.now())}

    def _clock(self) -> Json:
        clock = self._room.clock
        return {
            "now": iso(clock.now()),
            "frozen": clock.frozen,
            "driver": self._driver.url,
            "moving": self._driver.busy,
        }

    async def _order_fault(self, args: Args) -> Json:
        kind = args.text("kind")
        if kind not in faults.KINDS:
            raise ActionError(f"The kind of a fault is one of {', '.join(faults.KINDS)}.")
        fault = faults.Fault(
            args.text("method", "*"),
            kind,  # type: ignore[arg-type]  # it is one of the kinds, as just checked
            times=args.whole("times", 1) or 1,
            retry_after_s=args.whole("retry_after", 1) or 1,
            seconds=float(args.text("seconds", "1")),
            chat_id=args.whole("chat"),
            description=args.text("description") or None,
        )
        self._room.faults.order(fault)
        return {"ordered": len(self._room.faults.ordered)}

    async def _clear_faults(self, args: Args) -> Json:
        del args
        self._room.faults.clear()
        return {"ordered": 0}

    async def _list_people(self, args: Args) -> list[Json]:
        del args
        return [views.person(person) for person in self._room.people.persons.values()]

    async def _show_clock(self, args: Args) -> Json:
        zone = ZoneInfo(args.text("zone") or DEFAULT_ZONE)
        return {**self._clock(), "local": self._room.now().astimezone(zone).isoformat(), "zone": zone.key}

    async def _show_stats(self, args: Args) -> Json:
        del args
        room = self._room
        messages = [message for chat in room.people.chats.values() for message in chat.messages.values()]
        from_bot = sum(message.sender_id == room.bot_id for message in messages)
        next_try_at = self._webhook.next_try_at()
        return {
            "now": iso(room.now()),
            "people": len(room.people.persons),
            "messages_from_bot": from_bot,
            "messages_from_people": len(messages) - from_bot,
            "waiting_updates": [pending.update_id for pending in room.updates.waiting(room.now())],
            "next_try_at": iso(next_try_at) if next_try_at else None,
            "faults_left": len(room.faults.ordered),
            "record_lines": room.record.counts,
        }

    async def _show_chat(self, args: Args) -> Json:
        """`tail`: only so many of the newest messages; 0 means all."""
        room = self._room
        person = self._who(args)
        chat = self._acts.chat(person, args.whole("chat"))
        shown = [views.message(room.people, room.bot_id, message) for message in chat.messages.values()]
        from_bot = [message for message in shown if message["from_bot"] and not message["deleted"]]
        return {
            "person": views.person(person),
            "chat": chat.id,
            "messages": shown[-(args.whole("tail") or 0) :],
            "notification": from_bot[-1] if from_bot else None,
            "commands": room.commands.shown_to(person),
        }

    async def _show_file(self, request: Request) -> Response:
        try:
            found = self._room.files.by_id(request.path_params["file_id"])
        except ApiError:
            return Response(status_code=404)
        headers = {"Cache-Control": "max-age=3600", "Content-Security-Policy": "default-src 'none'"}
        return Response(found.data, media_type=found.media.mime, headers=headers)

    async def _events(self, request: Request) -> Response:
        del request
        return StreamingResponse(
            self._room.hub.stream(), media_type="text/event-stream", headers={"Cache-Control": "no-store"}
        )


def _answering(work: Work) -> Callable[[Request], Awaitable[Response]]:
    """A route's handler: arguments in, the answer or the refusal out as JSON."""

    async def handle(request: Request) -> Response:
        try:
            content_type = request.headers.get("content-type", "application/json")
            args = arguments.read(content_type, await request.body(), request.query_params)
            args.values |= request.path_params
            return JSONResponse(await work(args))
        except ApiError as error:
            return JSONResponse({"error": error.description}, 400)
        except (ActionError, MoveError, ValueError, ZoneInfoNotFoundError) as error:
            return JSONResponse({"error": str(error)}, 400)

    return handle
