"""A client handed over to a colleague, for good or until a day."""

import datetime as dt
import uuid
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class HandOver:
    """One client, from whom to whom, and who decided it when.

    until_on: the last day the colleague has her, in the clinic's zone; None for good. ended_by, ended_at:
    when she went back, at the end or before, and through whom.
    """

    id: uuid.UUID
    client_id: uuid.UUID
    from_id: uuid.UUID
    to_id: uuid.UUID
    until_on: dt.date | None
    made_by: str
    made_at: dt.datetime
    ended_by: str | None
    ended_at: dt.datetime | None
