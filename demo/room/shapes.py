"""Words shared by the room's files: the shape of JSON, and the error a method answers with."""

import datetime as dt
from typing import TypeAlias

Json: TypeAlias = dict[str, object]


class ApiError(Exception):
    """A refusal in the documented shape.

    code: the error code, which is the HTTP status too. description: the platform's kind of sentence.
    retry_after_s: seconds to wait, only with 429.
    """

    def __init__(self, code: int, description: str, retry_after_s: int | None = None) -> None:
        super().__init__(description)
        self.code = code
        self.description = description
        self.retry_after_s = retry_after_s

    def body(self) -> Json:
        """The answer's JSON object."""
        answer: Json = {"ok": False, "error_code": self.code, "description": self.description}
        if self.retry_after_s is not None:
            answer["parameters"] = {"retry_after": self.retry_after_s}
        return answer


def bad_request(reason: str) -> ApiError:
    """A 400: the request itself is wrong and will stay wrong."""
    return ApiError(400, f"Bad Request: {reason}")


def forbidden(reason: str) -> ApiError:
    """A 403: the person or the chat does not take messages from this bot."""
    return ApiError(403, f"Forbidden: {reason}")


def conflict(reason: str) -> ApiError:
    """A 409: two ways of receiving at once."""
    return ApiError(409, f"Conflict: {reason}")


def too_many_requests(retry_after_s: int) -> ApiError:
    """A 429 that says when to come back."""
    return ApiError(429, f"Too Many Requests: retry after {retry_after_s}", retry_after_s)


def iso(at: dt.datetime) -> str:
    """An instant as text in UTC, ending in Z; microseconds only where there are any."""
    return at.astimezone(dt.UTC).isoformat().replace("+00:00", "Z")


def parse_instant(text: str) -> dt.datetime:
    """An aware UTC instant from ISO text. Raises ValueError for anything else, also for a missing zone."""
    at = dt.datetime.fromisoformat(text)
    if at.tzinfo is None:
        raise ValueError(f"{text!r} has no zone; write it as 2026-03-02T09:00:00Z.")
    return at.astimezone(dt.UTC)
