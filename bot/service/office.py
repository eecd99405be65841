"""What every use case is handed."""

import uuid
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from threading import Lock

from bot.clock import Clock
from bot.domain.template import Templates
from bot.domain.warning_signs import SignRules
from bot.rules import rulebook, templates
from bot.rules.rulebook import Rulebook
from bot.service.approval import Approval
from bot.store.base import Begin


@dataclass(frozen=True, slots=True)
class Guidance:
    """What is heard, said and judged by.

    approval: who says whether a client may be enrolled. own_advice: the clinic's own texts, by id.
    book, templates: what prescriptions are judged by, and where the guided form starts.
    """

    rules: SignRules
    approval: Approval
    own_advice: Mapping[str, str]
    book: Rulebook = field(default_factory=rulebook.packaged)
    templates: Templates = field(default_factory=templates.load)


class ReadOnce:
    """Guidance that is read when it is first asked for, by one thread only, and then kept.

    Reading it takes longer than everything else at a start, and a nudge needs none of it.
    """

    def __init__(self, read: Callable[[], Guidance]) -> None:
        self._read = read
        self._lock = Lock()
        self._known: Guidance | None = None

    def __call__(self) -> Guidance:
        """The guidance; raises what reading it raises."""
        if self._known is None:
            with self._lock:
                if self._known is None:
                    self._known = self._read()
        return self._known


@dataclass(frozen=True, slots=True)
class Office:
    """The database, the clock, the guidance, and who we are.

    bot: the name of the bot on the platform. worker: this process, as claims and leases name it.
    alone: whether the database has one writer only, so that what another worker was sending is stranded.
    bot_name: what the bot is called on the platform, for invite links; None until the platform has been met.
    erasures: the list of erasures, outside the database. unseen_alert_minutes, late_delivery_minutes: from
    when on an administrator is told of an emergency alert nobody has seen, and of late delivery (common
    practice, no source). message_days: for how many days what went through the chat is kept.
    """

    begin: Begin
    clock: Clock
    guidance: Callable[[], Guidance]
    bot: str
    worker: uuid.UUID
    alone: bool
    erasures: Path
    bot_name: str | None = None
    unseen_alert_minutes: int = 60
    late_delivery_minutes: int = 10
    message_days: int = 90

    @property
    def rules(self) -> SignRules:
        """The warning signs in force."""
        return self.guidance().rules

    @property
    def approval(self) -> Approval:
        """Who says whether a client may be enrolled."""
        return self.guidance().approval

    @property
    def own_advice(self) -> Mapping[str, str]:
        """The clinic's own texts of advice, by id."""
        return self.guidance().own_advice

    @property
    def book(self) -> Rulebook:
        """What prescriptions are judged by."""
        return self.guidance().book

    @property
    def templates(self) -> Templates:
        """Where the guided form starts."""
        return self.guidance().templates
