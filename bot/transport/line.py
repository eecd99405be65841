"""The connections over which messages leave: the platform's library on a quick HTTP client.

The library's own client spends three times as long on a message, most of it on looking after connections.
"""

import functools
import ssl
from urllib.parse import urlencode, urlsplit
from urllib.request import getproxies, proxy_bypass

import aiohttp
import certifi
from telegram.error import NetworkError, TimedOut
from telegram.request import BaseRequest, RequestData

READ_WITHIN_S = 25.0
CONNECT_WITHIN_S = 5.0

# Nothing has left for the platform when one of these is the cause: trying again is safe.
NEVER_LEFT = (aiohttp.ClientConnectorError, aiohttp.ConnectionTimeoutError)


class SendLine(BaseRequest):
    """Posts over kept-alive connections; every error keeps its cause, by which its fate is told.

    connections: as many at most. A request is sent once: the client never repeats a POST by itself.
    """

    def __init__(
        self,
        connections: int,
        read_within_s: float = READ_WITHIN_S,
        connect_within_s: float = CONNECT_WITHIN_S,
    ) -> None:
        self._connections = connections
        self._within = aiohttp.ClientTimeout(total=None, connect=connect_within_s, sock_read=read_within_s)
        self._session: aiohttp.ClientSession | None = None

    @property
    def read_timeout(self) -> float | None:
        """How long an answer may take, in seconds."""
        return self._within.sock_read

    async def initialize(self) -> None:
        """Open the session; harmless when it is open."""
        if self._session is None:
            trusted = ssl.create_default_context(cafile=certifi.where())
            connector = aiohttp.TCPConnector(limit=self._connections, ssl=trusted)
            self._session = aiohttp.ClientSession(connector=connector, timeout=self._within)

    async def shutdown(self) -> None:
        """Close every connection."""
        if self._session is not None:
            await self._session.close()
            self._session = None

    async def do_request(
        self,
        url: str,
        method: str,
        request_data: RequestData | None = None,
        read_timeout: object = None,
        write_timeout: object = None,
        connect_timeout: object = None,
        pool_timeout: object = None,
    ) -> tuple[int, bytes]:
        """One request and its answer's status and body; the time limits are those of the line.

        Raises TimedOut or NetworkError of the library, with what really happened as the cause.
        """
        del read_timeout, write_timeout, connect_timeout, pool_timeout
        await self.initialize()
        assert self._session is not None  # noqa: S101 - opened in the line above
        headers = {"User-Agent": self.USER_AGENT}
        body = _body(request_data)
        if isinstance(body, bytes):
            headers["Content-Type"] = "application/x-www-form-urlencoded"
        try:
            async with self._session.request(
                method, url, data=body, headers=headers, proxy=_proxy_on_the_way(url)
            ) as answer:
                return answer.status, await answer.read()
        except TimeoutError as error:
            raise TimedOut from error
        except (aiohttp.ClientError, OSError) as error:
            raise NetworkError(f"{type(error).__name__}") from error


def _proxy_on_the_way(url: str) -> str | None:
    there = urlsplit(url)
    return _proxy_to(there.scheme, there.hostname or "")


@functools.cache
def _proxy_to(scheme: str, host: str) -> str | None:
    """The proxy that the environment names, as the library's own client takes it.

    Asked once for each host: the quick client would ask anew, in two threads, for every message.
    """
    return None if proxy_bypass(host) else getproxies().get(scheme)


def _body(told: RequestData | None) -> aiohttp.FormData | bytes | None:
    if told is None:
        return None
    files = told.multipart_data
    if not files:
        return urlencode(told.json_parameters).encode()
    form = aiohttp.FormData()
    for name, text in told.json_parameters.items():
        form.add_field(name, text)
    for name, (file_name, content, kind) in files.items():
        form.add_field(name, content, filename=file_name, content_type=kind)
    return form
