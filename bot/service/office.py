"""What every use case is handed."""

import uuid
from collections.abc import Mapping
from dataclasses import dataclass

from bot.clock import Clock
from bot.domain.warning_signs import SignRules
from bot.service.approval import Approval
from bot.store.base import Begin


@dataclass(frozen=True, slots=True)
class Office:
    """The database, the clock, the rules, and who we are.

    bot: the name of the bot on the platform. worker: this process, as claims and leases name it.
    alone: whether the database has one writer only, so that what another worker was sending is stranded.
    approval: who says whether a client may be enrolled. own_advice: the clinic's own texts, by id.
    """

    begin: Begin
    clock: Clock
    rules: SignRules
    bot: str
    worker: uuid.UUID
    alone: bool
    approval: Approval
    own_advice: Mapping[str, str]
