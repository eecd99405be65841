"""The Bot API's HTTP face: token, method, faults on order, the record of every call."""

import asyncio
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager

from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.types import Receive, Scope, Send

from demo.room import args as arguments
from demo.room.faults import Fault
from demo.room.methods import METHODS, Call
from demo.room.polling import Polls, read_allowed
from demo.room.room import Room
from demo.room.shapes import ApiError, Json
from demo.room.webhook import DEFAULT_CONNECTIONS, Webhook

BODY_LIMIT = 60 * 1024 * 1024  # a little more than the largest upload
HOLD_LIMIT_S = 120.0  # a call that is never answered is let go after this

_FRONT_PAGE = "<html><head><title>502 Bad Gateway</title></head><body><h1>502 Bad Gateway</h1></body></html>"

Cut = Callable[[Scope], None]


class _NoAnswer(Response):
    """Cuts the connection instead of answering."""

    def __init__(self, cut: Cut) -> None:
        super().__init__()
        self._cut = cut

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        del send
        self._cut(scope)
        while (await receive())["type"] != "http.disconnect":
            pass


class Api:
    """Answers `/bot<token>/<method>` and `/file/bot<token>/<path>`. `cut` ends a request's connection."""

    def __init__(self, room: Room, webhook: Webhook, cut: Cut) -> None:
        self._room = room
        self._webhook = webhook
        self._cut = cut
        self._polls = Polls(room, webhook)

    async def call(self, request: Request) -> Response:
        """One call of a method."""
        call = Call(self._room, request.path_params["method"], arguments.Args())
        try:
            call.args = await self._arguments(request)
        except ApiError as error:
            return self._recorded(call, None, error, taken=False)
        fault = self._room.faults.take_for_call(call.method, _chat_id(call))
        async with self._watch(request) as hung_up:
            return await self._answer(call, fault, hung_up)

    async def _arguments(self, request: Request) -> arguments.Args:
        if request.path_params["token"] != self._room.settings.token:
            raise ApiError(401, "Unauthorized")
        if int(request.headers.get("content-length", "0")) > BODY_LIMIT:
            raise ApiError(413, "Request Entity Too Large")
        content_type = request.headers.get("content-type", "")
        return arguments.read(content_type, await request.body(), request.query_params)

    @asynccontextmanager
    async def _watch(self, request: Request) -> AsyncIterator[asyncio.Event]:
        """An event that is set, and the bell rung, once the caller has hung up."""
        hung_up = asyncio.Event()

        async def wait() -> None:
            await request.receive()  # the body has been read, so what comes next can only be the end
            hung_up.set()
            self._room.stir.ring()

        watcher = asyncio.create_task(wait())
        try:
            yield hung_up
        finally:
            watcher.cancel()

    async def _answer(self, call: Call, fault: Fault | None, hung_up: asyncio.Event) -> Response:
        if fault is not None:
            if fault.kind == "502-html":
                self._record(call, fault, 502, "Bad Gateway", taken=False)
                return HTMLResponse(_FRONT_PAGE, 502)
            if (error := fault.error()) is not None:
                return self._recorded(call, fault, error, taken=False)
            if fault.kind in ("timeout", "drop-before"):
                self._record(call, fault, "none", None, taken=False)
                return await self._silence(fault, hung_up)
            if fault.kind == "slow":
                await asyncio.sleep(fault.seconds)
        try:
            result = await self._do(call, hung_up)
        except ApiError as error:
            return self._recorded(call, fault, error, taken=False)
        if fault is not None and fault.kind in ("timeout-after", "drop-after"):
            self._record(call, fault, "none", None, taken=True)
            return await self._silence(fault, hung_up)
        self._record(call, fault, "ok", None, taken=True)
        return JSONResponse({"ok": True, "result": result})

    async def _do(self, call: Call, hung_up: asyncio.Event) -> object:
        match call.method:
            case "getUpdates":
                return await self._polls.get_updates(call, hung_up.is_set)
            case "setWebhook" if call.args.text("url"):
                return self._set_webhook(call)
            case "setWebhook" | "deleteWebhook":
                self._webhook.remove()
                self._drop_pending(call)
                return True
            case "getWebhookInfo":
                return self._webhook.info()
            case _:
                pass
        method = METHODS.get(call.method)
        if method is None:
            raise ApiError(404, "Not Found: method not found")
        return method(call)

    def _set_webhook(self, call: Call) -> bool:
        args = call.args
        connections = args.whole("max_connections", DEFAULT_CONNECTIONS) or DEFAULT_CONNECTIONS
        self._webhook.set(args.text("url"), args.text("secret_token"), connections)
        read_allowed(self._room, call)
        self._drop_pending(call)
        self._polls.interrupt()
        return True

    def _drop_pending(self, call: Call) -> None:
        if call.args.flag("drop_pending_updates"):
            self._room.updates.drop_all()

    async def _silence(self, fault: Fault, hung_up: asyncio.Event) -> Response:
        if fault.kind.startswith("timeout"):
            loop = asyncio.get_running_loop()
            until_s = loop.time() + HOLD_LIMIT_S
            while not hung_up.is_set() and not self._room.closing:
                if not await self._room.stir.wait(until_s - loop.time()):
                    break
        return _NoAnswer(self._cut)

    def _recorded(self, call: Call, fault: Fault | None, error: ApiError, *, taken: bool) -> Response:
        call.notes["retry_after"] = error.retry_after_s
        self._record(call, fault, error.code, error.description, taken=taken)
        return _refusal(error)

    def _record(
        self, call: Call, fault: Fault | None, answer: str | int, description: str | None, *, taken: bool
    ) -> None:
        chat_id = _chat_id(call)
        person = self._room.people.persons.get(chat_id) if chat_id is not None else None
        fields: Json = {
            "method": call.method,
            "chat": chat_id,
            "person": person.name if person else None,
            **dict.fromkeys(_REQUEST_FIELDS),
            **call.notes,
            "answer": answer,
            "description": description,
            "fault": fault.kind if fault else None,
            "taken": taken,
        }
        self._room.record.line("call", fields)

    async def download(self, request: Request) -> Response:
        """The bytes of a file whose path getFile gave."""
        room = self._room
        if request.path_params["token"] != room.settings.token:
            return _refusal(ApiError(401, "Unauthorized"))
        call = Call(room, "download", arguments.Args())
        found = room.files.by_path(request.path_params["path"])
        if found is None:
            return self._recorded(call, None, ApiError(404, "Not Found"), taken=False)
        call.notes["file"] = {"name": found.media.name, "size": found.media.size}
        self._record(call, None, "ok", None, taken=True)
        return Response(found.data, media_type=found.media.mime)


_REQUEST_FIELDS = (
    "text", "text_units", "caption", "caption_units", "buttons", "silent", "protected", "reply_to", "file",
    "query", "retry_after", "message_id", "handed",
)  # fmt: skip


def _chat_id(call: Call) -> int | None:
    given = call.args.text("chat_id")
    return int(given) if given.removeprefix("-").isdecimal() else None


def _refusal(error: ApiError) -> Response:
    headers = {"Retry-After": str(error.retry_after_s)} if error.retry_after_s is not None else None
    return JSONResponse(error.body(), error.code, headers=headers)
