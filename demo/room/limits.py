"""The sending limits of the public platform, counted by the room's clock."""

import datetime as dt
import math
from dataclasses import dataclass, field


@dataclass(frozen=True)
class LimitSettings:
    """Messages a second for the whole bot and for one chat, and how many may come at once.

    Source: the platform's FAQ for bots (read): about 30 a second, about 1 a second in a chat with short
    bursts tolerated, 20 a minute in a group. The size of a tolerated burst is not published; 5 is our
    choice.
    """

    bot_per_s: float = 30.0
    bot_burst: int = 30
    chat_per_s: float = 1.0
    chat_burst: int = 5
    group_per_s: float = 20 / 60
    group_burst: int = 20


@dataclass
class _Bucket:
    rate_per_s: float
    size: int
    level: float
    at: dt.datetime

    def refill(self, now: dt.datetime) -> None:
        gone_s = (now - self.at).total_seconds()
        if gone_s > 0:  # a clock moved back gives nothing and takes nothing
            self.level = min(self.size, self.level + gone_s * self.rate_per_s)
        self.at = now

    def wait_s(self) -> int:
        """Whole seconds until one more fits; 0 if it fits now."""
        # A hair of slack, or a third of a second added three times would not make one.
        return max(0, math.ceil((1 - self.level) / self.rate_per_s - 1e-6))


@dataclass
class Limits:
    """Counts messages; `settings` None switches the limits off."""

    settings: LimitSettings | None
    _bot: _Bucket | None = None
    _chats: dict[int, _Bucket] = field(default_factory=dict)

    def take(self, chat_id: int, now: dt.datetime, *, group: bool) -> int:
        """Count one message and answer 0, or answer the seconds to wait and count nothing."""
        if self.settings is None:
            return 0
        limits = self.settings
        if self._bot is None:
            self._bot = _Bucket(limits.bot_per_s, limits.bot_burst, limits.bot_burst, now)
        if chat_id not in self._chats:
            rate, size = (
                (limits.group_per_s, limits.group_burst) if group else (limits.chat_per_s, limits.chat_burst)
            )
            self._chats[chat_id] = _Bucket(rate, size, size, now)
        buckets = (self._bot, self._chats[chat_id])
        for bucket in buckets:
            bucket.refill(now)
        wait_s = max(bucket.wait_s() for bucket in buckets)
        if wait_s == 0:
            for bucket in buckets:
                bucket.level -= 1
        return wait_s
