"""Faults on order: the next calls of a method go wrong in a chosen way."""

from dataclasses import dataclass
from typing import Literal, get_args

from demo.room.shapes import ApiError, bad_request, forbidden, too_many_requests

Kind = Literal[
    "400",  # refused for good
    "403",  # refused: blocked
    "429",  # come back after `retry_after` seconds
    "500",  # the platform's own error, in its JSON shape
    "502-html",  # a page from something in front of the platform
    "timeout",  # not taken, and never answered
    "timeout-after",  # taken, and never answered
    "drop-before",  # the connection is cut, nothing taken
    "drop-after",  # taken, then the connection is cut
    "slow",  # answered after `seconds`
    "duplicate-update",  # the next updates come once more after they were confirmed
    "out-of-order",  # the next updates that are fetched together come in the wrong order
]
KINDS: tuple[str, ...] = get_args(Kind)
OF_UPDATES = ("duplicate-update", "out-of-order")


@dataclass
class Fault:
    """`method` "*" means any; `chat_id` None means any chat; `times` counts down."""

    method: str
    kind: Kind
    times: int = 1
    retry_after_s: int = 1
    seconds: float = 1.0
    chat_id: int | None = None
    description: str | None = None

    def error(self) -> ApiError | None:
        """The refusal in the documented shape, for the kinds that are one."""
        match self.kind:
            case "400":
                return bad_request(self.description or "fault on order")
            case "403":
                return forbidden(self.description or "bot was blocked by the user")
            case "429":
                return too_many_requests(self.retry_after_s)
            case "500":
                return ApiError(500, self.description or "Internal Server Error")
            case _:
                return None


class Faults:
    """Faults not used up yet, in the order they were asked for."""

    def __init__(self) -> None:
        self.ordered: list[Fault] = []

    def order(self, fault: Fault) -> None:
        """Ask for a fault."""
        self.ordered.append(fault)

    def clear(self) -> None:
        """Take all orders back."""
        self.ordered.clear()

    def take_for_call(self, method: str, chat_id: int | None) -> Fault | None:
        """The fault for this call, used up by one; None if it should go well."""
        for fault in self.ordered:
            fits = fault.method in (method, "*") and fault.chat_id in (None, chat_id)
            if fits and fault.kind not in OF_UPDATES:
                return self._use(fault)
        return None

    def take_for_updates(self, kind: Kind) -> bool:
        """Whether what is handed out now shall suffer this, one of `OF_UPDATES`; used up by one."""
        for fault in self.ordered:
            if fault.kind == kind:
                self._use(fault)
                return True
        return False

    def _use(self, fault: Fault) -> Fault:
        fault.times -= 1
        if fault.times <= 0:
            self.ordered.remove(fault)
        return fault
