"""Prescriptions that therapists are working on in chat. A draft goes when it is in force or thrown away."""

import datetime as dt
import uuid
from typing import Any

from sqlalchemy import Row, delete, insert, select, update

from bot.domain.drafts import Draft, DraftKind
from bot.store import tables
from bot.store.base import Tx
from bot.store.vault import Place

_DRAFT = tables.draft.c


def _content(draft: Draft) -> dict[str, Any]:
    return {
        "kind": draft.kind.value,
        "step": draft.step,
        "answers": list(map(list, draft.answers.items())),  # in their order, which JSON keeps for lists
        "document": draft.document,
    }


def put(tx: Tx, draft: Draft, now: dt.datetime) -> None:
    """Keep a draft as it stands; a therapist has one for each client, an earlier one goes."""
    sealed = tx.seal_json(draft.staff_id, Place("draft", draft.id, "content"), _content(draft))
    same = tx.connection.execute(
        update(tables.draft).where(_DRAFT.id == draft.id).values(content=sealed, changed_at=now)
    )
    if same.rowcount:
        return
    tx.connection.execute(
        delete(tables.draft).where(_DRAFT.staff_id == draft.staff_id, _DRAFT.code == draft.code)
    )
    tx.connection.execute(
        insert(tables.draft).values(
            id=draft.id,
            staff_id=draft.staff_id,
            code=draft.code,
            content=sealed,
            made_at=now,
            changed_at=now,
        )
    )


def _draft(tx: Tx, row: Row[Any]) -> Draft:
    content = tx.open_json(Place("draft", row.id, "content"), row.content)
    return Draft(
        id=row.id,
        staff_id=row.staff_id,
        code=row.code,
        kind=DraftKind(content["kind"]),
        step=content["step"],
        answers=dict(content["answers"]),
        document=content["document"],
    )


def by_id(tx: Tx, draft_id: uuid.UUID) -> Draft | None:
    """A draft, None once it is in force or thrown away."""
    row = tx.connection.execute(select(tables.draft).where(_DRAFT.id == draft_id)).first()
    return None if row is None else _draft(tx, row)


def by_code(tx: Tx, staff_id: uuid.UUID, code: str) -> Draft | None:
    """A therapist's draft for a client's code."""
    query = select(tables.draft).where(_DRAFT.staff_id == staff_id, _DRAFT.code == code)
    row = tx.connection.execute(query).first()
    return None if row is None else _draft(tx, row)


def drop(tx: Tx, draft_id: uuid.UUID) -> None:
    """Let a draft go."""
    tx.connection.execute(delete(tables.draft).where(_DRAFT.id == draft_id))
