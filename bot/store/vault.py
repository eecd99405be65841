"""Encryption at rest: one data key for each person, wrapped by a master key that is not in the database.

A sealed value is: one byte of format, the 16 bytes of its owner's id (which key opens it), 12 bytes of nonce,
the AES-256-GCM ciphertext. It is bound to its table, row and column, so a value moved elsewhere does not
open. Destroying an owner's wrapped key erases all that was sealed with it.
"""

import base64
import binascii
import hashlib
import hmac
import os
import uuid
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import NamedTuple

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from bot.errors import BotError, SettingsError
from bot.store.types import SealedBytes

FORMAT = b"\x01"
KEY_BYTES = 32
NONCE_BYTES = 12
ID_BYTES = 16
MASTER_ID_CHARACTERS = 8
HEAD_BYTES = len(FORMAT) + ID_BYTES + NONCE_BYTES


class SealError(BotError):
    """A value that does not open: its key is gone, or it does not belong where it was found."""


class WrongKeysError(SealError):
    """DATA_KEYS do not open a data key; with the right ones everything opens again."""


class Place(NamedTuple):
    """Where a sealed value lives; it opens nowhere else."""

    table: str
    row: uuid.UUID
    column: str

    @property
    def bound(self) -> bytes:
        """The bytes the ciphertext is bound to."""
        return f"{self.table}:{self.row.hex}:{self.column}".encode()


@dataclass(frozen=True, slots=True)
class MasterKey:
    """A key that wraps data keys; `key_id` stands in front of what it wrapped."""

    key_id: str
    key: bytes = field(repr=False)


def new_master_key() -> str:
    """A fresh master key as it is written in DATA_KEYS: `id:key`, the key in URL-safe base64."""
    key_id = os.urandom(MASTER_ID_CHARACTERS // 2).hex()
    return f"{key_id}:{base64.urlsafe_b64encode(os.urandom(KEY_BYTES)).decode()}"


def parse_master_keys(text: str) -> tuple[MasterKey, ...]:
    """The master keys of DATA_KEYS, the first one being the one that wraps.

    text: `id:key` entries, split by commas or white space. Raises SettingsError naming the entry at fault,
    never showing the key. An id may stand there once only: it tells which key opens what.
    """
    entries = text.replace(",", " ").split()
    if not entries:
        raise SettingsError("DATA_KEYS: no key in it; make one with `programme-bot new-key`")
    keys: dict[str, MasterKey] = {}
    for place, entry in enumerate(entries, start=1):
        key_id, _, encoded = entry.partition(":")
        try:
            key = base64.b64decode(encoded, altchars=b"-_", validate=True)
        except (binascii.Error, ValueError):
            key = b""
        if not key_id.isascii() or len(key_id) != MASTER_ID_CHARACTERS or len(key) != KEY_BYTES:
            raise SettingsError(
                f"DATA_KEYS: entry {place} is not a key; expected `id:key` "
                "as `programme-bot new-key` prints it",
            )
        if key_id in keys:
            raise SettingsError(f"DATA_KEYS: entry {place} has the id of an earlier one; leave one of them")
        keys[key_id] = MasterKey(key_id, key)
    return tuple(keys.values())


@lru_cache(maxsize=16)
def _master(key: bytes) -> AESGCM:
    return AESGCM(key)


def wrap(masters: Sequence[MasterKey], owner: uuid.UUID, data_key: bytes) -> bytes:
    """A data key wrapped by the first master key, bound to its owner."""
    nonce = os.urandom(NONCE_BYTES)
    sealed = _master(masters[0].key).encrypt(nonce, data_key, owner.bytes)
    return masters[0].key_id.encode() + nonce + sealed


def wrapper_of(wrapped: bytes) -> str:
    """The id of the master key that wrapped a data key."""
    return wrapped[:MASTER_ID_CHARACTERS].decode("ascii", "replace")


def unwrap(masters: Sequence[MasterKey], owner: uuid.UUID, wrapped: bytes) -> bytes:
    """The data key of an owner; raises WrongKeysError when no master key at hand opens it."""
    key_id = wrapper_of(wrapped)
    nonce = wrapped[MASTER_ID_CHARACTERS : MASTER_ID_CHARACTERS + NONCE_BYTES]
    for master in masters:
        if master.key_id == key_id:
            try:
                sealed = wrapped[MASTER_ID_CHARACTERS + NONCE_BYTES :]
                return _master(master.key).decrypt(nonce, sealed, owner.bytes)
            except (InvalidTag, ValueError) as error:  # the latter: cut short
                raise WrongKeysError(
                    f"DATA_KEYS: key {key_id} has the right id but does not open the data"
                ) from error
    raise WrongKeysError(f"DATA_KEYS: key {key_id} is missing; data was wrapped with it")


def new_data_key() -> bytes:
    """A fresh data key."""
    return os.urandom(KEY_BYTES)


def seal(data_key: bytes, owner: uuid.UUID, place: Place, plain: bytes) -> SealedBytes:
    """A value sealed with its owner's key and bound to its place."""
    nonce = os.urandom(NONCE_BYTES)
    return SealedBytes(
        FORMAT + owner.bytes + nonce + AESGCM(data_key).encrypt(nonce, plain, place.bound),
    )


def owner_of(sealed: SealedBytes) -> uuid.UUID:
    """Whose key opens this value; raises SealError for bytes that the vault has not made."""
    if not sealed.startswith(FORMAT) or len(sealed) < HEAD_BYTES:
        raise SealError("a sealed value has no head that this program knows")
    return uuid.UUID(bytes=bytes(sealed[len(FORMAT) : len(FORMAT) + ID_BYTES]))


def unseal(data_key: bytes, place: Place, sealed: SealedBytes) -> bytes:
    """The plain value; raises SealError when it was moved here from elsewhere or tampered with."""
    nonce = sealed[len(FORMAT) + ID_BYTES : HEAD_BYTES]
    try:
        return AESGCM(data_key).decrypt(nonce, sealed[HEAD_BYTES:], place.bound)
    except (InvalidTag, ValueError) as error:
        raise SealError(f"a value of {place.table}.{place.column} does not open where it stands") from error


def keyed_hash(key: bytes, purpose: str, value: str) -> bytes:
    """A look-up value that cannot be turned back without the key (HMAC-SHA-256)."""
    return hmac.digest(key, f"{purpose}:{value}".encode(), hashlib.sha256)
