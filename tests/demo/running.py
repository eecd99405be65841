"""The type of the fixture `run`."""

from collections.abc import Coroutine
from typing import Any, Protocol, TypeVar

T = TypeVar("T")


class Run(Protocol):
    """Waits for a coroutine and answers its result."""

    def __call__(self, coro: Coroutine[Any, Any, T], /) -> T: ...
