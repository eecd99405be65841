"""Sign-offs: which exact contents a clinician has put her name to."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Row, insert, select

from bot.store import tables
from bot.store.base import INSTALLATION, Tx
from bot.store.ids import new_id
from bot.store.vault import Place

_SIGNED = tables.sign_off.c


@dataclass(frozen=True, slots=True)
class SignOff:
    """Who signed what, and when. parts: the digest of each part by name."""

    language: str
    digest: str
    parts: Mapping[str, str]
    name: str
    registration: str
    signed_on: dt.date


def add(tx: Tx, signed: SignOff, now: dt.datetime) -> None:
    """Keep a sign-off; earlier ones stay."""
    row_id = new_id(now)

    def sealed(column: str, value: str) -> bytes:
        return tx.seal(INSTALLATION, Place("sign_off", row_id, column), value)

    tx.connection.execute(
        insert(tables.sign_off).values(
            id=row_id,
            language=signed.language,
            digest=signed.digest,
            parts=dict(signed.parts),
            name=sealed("name", signed.name),
            registration=sealed("registration", signed.registration),
            signed_on=signed.signed_on,
            recorded_at=now,
        ),
    )


def covers(tx: Tx, language: str, digest: str) -> bool:
    """Whether these exact contents were signed."""
    query = select(_SIGNED.id).where(_SIGNED.language == language, _SIGNED.digest == digest).limit(1)
    return tx.connection.execute(query).first() is not None


def every(tx: Tx) -> list[SignOff]:
    """All sign-offs, oldest first."""
    query = select(tables.sign_off).order_by(_SIGNED.recorded_at, _SIGNED.id)
    return [_signed(tx, row) for row in tx.connection.execute(query)]


def _signed(tx: Tx, row: Row[Any]) -> SignOff:
    return SignOff(
        language=row.language,
        digest=row.digest,
        parts=row.parts,
        name=tx.open_text(Place("sign_off", row.id, "name"), row.name),
        registration=tx.open_text(Place("sign_off", row.id, "registration"), row.registration),
        signed_on=row.signed_on,
    )
