"""What every use case is handed."""

import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from bot.clock import Clock
from bot.domain.template import Templates
from bot.domain.warning_signs import SignRules
from bot.rules import rulebook, templates
from bot.rules.rulebook import Rulebook
from bot.service.approval import Approval
from bot.store.base import Begin


@dataclass(frozen=True, slots=True)
class Office:
    """The database, the clock, the rules, and who we are.

    bot: the name of the bot on the platform. worker: this process, as claims and leases name it.
    alone: whether the database has one writer only, so that what another worker was sending is stranded.
    approval: who says whether a client may be enrolled. own_advice: the clinic's own texts, by id.
    book, templates: what prescriptions are judged by, and where the guided form starts. bot_name: what the
    bot is called on the platform, for invite links; None until the platform has been met.
    erasures: the list of erasures, outside the database.
    """

    begin: Begin
    clock: Clock
    rules: SignRules
    bot: str
    worker: uuid.UUID
    alone: bool
    approval: Approval
    own_advice: Mapping[str, str]
    erasures: Path
    book: Rulebook = field(default_factory=rulebook.packaged)
    templates: Templates = field(default_factory=templates.load)
    bot_name: str | None = None
