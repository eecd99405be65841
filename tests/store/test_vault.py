"""What is sealed opens where it belongs, with the right keys, and nowhere else."""

import contextlib
import uuid
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor

import pytest
import sqlalchemy as sa
from sqlalchemy.exc import StatementError

from bot.errors import RefusedError, SettingsError
from bot.store import people, tables, vault
from bot.store.base import INSTALLATION, Place, Store, open_engine, read_url
from bot.store.types import SealedBytes
from bot.store.vault import SealError, WrongKeysError
from tests.fixtures.clock import MovableClock
from tests.fixtures.databases import Fresh
from tests.store import prepared

OWNER, ROW = uuid.UUID(int=11), uuid.UUID(int=12)
PLACE = Place("unread_note", ROW, "text")
KEY = bytes(range(32))


def test_a_value_opens_where_it_was_sealed_and_shows_nothing() -> None:
    sealed = vault.seal(KEY, OWNER, PLACE, b"planted words")
    assert vault.unseal(KEY, PLACE, sealed) == b"planted words"
    assert vault.owner_of(sealed) == OWNER
    assert b"planted" not in bytes(sealed)


def test_the_same_value_never_looks_the_same() -> None:
    assert len({vault.seal(KEY, OWNER, PLACE, b"yes") for _ in range(50)}) == 50


@pytest.mark.parametrize(
    "elsewhere",
    [
        PLACE._replace(table="alert"),
        PLACE._replace(row=uuid.UUID(int=13)),
        PLACE._replace(column="note"),
    ],
)
def test_a_value_that_was_moved_does_not_open(elsewhere: Place) -> None:
    sealed = vault.seal(KEY, OWNER, PLACE, b"planted words")
    with pytest.raises(SealError) as refused:
        vault.unseal(KEY, elsewhere, sealed)
    assert str(refused.value) == (
        f"a value of {elsewhere.table}.{elsewhere.column} does not open where it stands"
    )


def test_every_changed_byte_is_noticed() -> None:
    sealed = vault.seal(KEY, OWNER, PLACE, b"18")
    for place in range(vault.HEAD_BYTES - vault.NONCE_BYTES, len(sealed)):
        changed = bytearray(sealed)
        changed[place] ^= 1
        with pytest.raises(SealError):
            vault.unseal(KEY, PLACE, SealedBytes(changed))


def test_a_value_cut_short_is_a_seal_error_too() -> None:
    sealed = vault.seal(KEY, OWNER, PLACE, b"18")
    for length in range(len(sealed)):
        with pytest.raises(SealError):
            vault.unseal(KEY, PLACE, SealedBytes(sealed[:length]))


@pytest.mark.parametrize("head", [b"", b"\x01", b"\x02" + bytes(60)])
def test_bytes_the_vault_has_not_made_have_no_owner(head: bytes) -> None:
    with pytest.raises(SealError, match="no head that this program knows"):
        vault.owner_of(SealedBytes(head))


def test_another_key_does_not_open() -> None:
    sealed = vault.seal(KEY, OWNER, PLACE, b"planted words")
    with pytest.raises(SealError):
        vault.unseal(vault.new_data_key(), PLACE, sealed)


def test_the_keyed_hash_is_stable_and_bound_to_its_purpose() -> None:
    """Rows are looked up by it for years: this value may never change.

    HMAC-SHA-256 of `user:7700900123` under the key 00 01 ... 1f, computed by OpenSSL's command line.
    """
    assert vault.keyed_hash(KEY, "user", "7700900123").hex() == HASH
    assert vault.keyed_hash(KEY, "invite", "7700900123").hex() != HASH
    assert vault.keyed_hash(vault.new_data_key(), "user", "7700900123").hex() != HASH


HASH = "0c18fa5c4a69efd8697fdffd34fb6ba498d683563b4aed96c604d771fbbc06ec"


# The master keys


def test_a_new_key_is_read_back() -> None:
    (master,) = vault.parse_master_keys(vault.new_master_key())
    assert len(master.key_id) == 8
    assert len(master.key) == 32


def test_several_keys_are_split_by_commas_or_white_space_in_order() -> None:
    one, two, three = (vault.new_master_key() for _ in range(3))
    read = vault.parse_master_keys(f" {one},{two}\n{three}\n")
    assert [f"{key.key_id}:" for key in read] == [key[:9] for key in (one, two, three)]


GOOD = "0a1b2c3d:AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh8="


@pytest.mark.parametrize(
    "entry",
    [
        GOOD[:-4],  # a key of 30 bytes
        GOOD[:-1],  # padding lost
        GOOD.replace(":", ""),
        GOOD.replace("0a1b2c3d", "0a1b2c3"),
        GOOD.replace("0a1b2c3d", "äbcdefgh"),
        GOOD.replace("AAEC", "AA!C"),
        GOOD.replace("AAEC", "AA*EC"),  # which a lenient reader would skip
        GOOD.replace("AAEC", "ÄAEC"),
        ":" + GOOD,
        GOOD + "QUJD",
    ],
)
def test_a_malformed_key_is_named_by_its_place_and_never_shown(entry: str) -> None:
    with pytest.raises(SettingsError) as refused:
        vault.parse_master_keys(f"{vault.new_master_key()} {entry}")
    assert str(refused.value) == (
        "DATA_KEYS: entry 2 is not a key; expected `id:key` as `programme-bot new-key` prints it"
    )
    assert refused.value.__suppress_context__ or refused.value.__context__ is None


@pytest.mark.parametrize("nothing", ["", "  \n", ",,"])
def test_no_key_at_all_names_the_command_that_makes_one(nothing: str) -> None:
    with pytest.raises(SettingsError, match="no key in it; make one with `programme-bot new-key`"):
        vault.parse_master_keys(nothing)


def test_two_keys_of_one_id_are_refused() -> None:
    """The id in front of a wrapped key has to tell which one opens it."""
    with pytest.raises(SettingsError) as refused:
        vault.parse_master_keys(f"{GOOD} {GOOD}")
    assert str(refused.value) == "DATA_KEYS: entry 2 has the id of an earlier one; leave one of them"


def test_a_master_key_does_not_show_itself() -> None:
    """A stray log line or traceback prints objects."""
    (master,) = vault.parse_master_keys(GOOD)
    assert repr(master) == "MasterKey(key_id='0a1b2c3d')"


def test_the_first_key_wraps_and_each_opens_what_it_wrapped() -> None:
    old, new = (vault.parse_master_keys(vault.new_master_key()) for _ in range(2))
    before = vault.wrap(old, OWNER, KEY)
    after = vault.wrap(new + old, OWNER, KEY)
    assert [vault.wrapper_of(wrapped) for wrapped in (before, after)] == [old[0].key_id, new[0].key_id]
    assert [vault.unwrap(new + old, OWNER, wrapped) for wrapped in (before, after)] == [KEY, KEY]
    assert vault.unwrap(new, OWNER, after) == KEY


def test_a_wrapped_key_belongs_to_its_owner() -> None:
    masters = vault.parse_master_keys(GOOD)
    with pytest.raises(WrongKeysError):
        vault.unwrap(masters, uuid.UUID(int=99), vault.wrap(masters, OWNER, KEY))


# In the database


@pytest.fixture
def url(fresh_database: Fresh) -> str:
    return fresh_database(prepared.at_head)


@contextlib.contextmanager
def opened(url: str, keys: str) -> Iterator[Store]:
    store = Store(open_engine(read_url(url)), vault.parse_master_keys(keys))
    yield store
    store.close()


def refusal(url: str, keys: str) -> str:
    with opened(url, keys) as store, store.begin() as tx:
        with pytest.raises(RefusedError) as refused:
            tx.check_keys()
        return str(refused.value)


def test_a_missing_master_key_is_named(url: str, clock: MovableClock) -> None:
    prepared.open_store(url, clock.now(), GOOD).close()
    other = vault.new_master_key()
    message = refusal(url, other)
    assert message == "DATA_KEYS: key 0a1b2c3d is missing; data was wrapped with it"
    assert other[9:] not in message


def test_a_wrong_key_under_the_right_id_is_named(url: str, clock: MovableClock) -> None:
    prepared.open_store(url, clock.now(), GOOD).close()
    wrong = "0a1b2c3d:" + vault.new_master_key()[9:]
    assert refusal(url, wrong) == "DATA_KEYS: key 0a1b2c3d has the right id but does not open the data"


def test_every_missing_key_is_named_at_once(url: str, clock: MovableClock) -> None:
    """Also one that wraps only some people's keys, which would show weeks later otherwise."""
    middle = vault.new_master_key()
    prepared.open_store(url, clock.now(), GOOD).close()
    with opened(url, f"{middle} {GOOD}") as store, store.begin() as tx:
        tx.make_key(OWNER, clock.now())
        tx.make_key(ROW, clock.now())
    lines = sorted(f"DATA_KEYS: key {key[:8]} is missing; data was wrapped with it" for key in (GOOD, middle))
    assert refusal(url, vault.new_master_key()) == "\n".join(lines)
    assert refusal(url, GOOD) == f"DATA_KEYS: key {middle[:8]} is missing; data was wrapped with it"
    with opened(url, f"{GOOD} {middle}") as store, store.begin() as tx:
        tx.check_keys()


def test_after_a_rotation_old_values_open_and_new_people_get_the_new_key(
    url: str, clock: MovableClock
) -> None:
    now = clock.now()
    place = Place("alert", ROW, "detail")
    with opened(url, GOOD) as store, store.begin() as tx:
        tx.prepare_installation(now)
        tx.make_key(OWNER, now)
        sealed = tx.seal(OWNER, place, "before")
        hashed = tx.hash("user", "1")
    new = vault.new_master_key()
    with opened(url, f"{new},{GOOD}") as store, store.begin() as tx:
        tx.check_keys()
        assert tx.open_text(place, sealed) == "before"
        assert tx.hash("user", "1") == hashed
        tx.make_key(ROW, now)
        rows = tx.connection.execute(sa.select(tables.data_key.c.owner_id, tables.data_key.c.wrapped))
        wrapped = {row.owner_id: vault.wrapper_of(row.wrapped) for row in rows}
    assert wrapped == {INSTALLATION: GOOD[:8], OWNER: GOOD[:8], ROW: new[:8]}


def test_the_installation_key_is_made_once(url: str, clock: MovableClock) -> None:
    with opened(url, GOOD) as store:
        for _ in range(3):
            with store.begin() as tx:
                tx.prepare_installation(clock.now())
        with store.begin() as tx:
            assert tx.connection.scalar(sa.select(sa.func.count()).select_from(tables.data_key)) == 1


def test_two_that_start_at_once_agree_on_the_installation_key(
    fresh_postgresql: Fresh, clock: MovableClock
) -> None:
    """The second sees no key yet, waits for the first one's to be committed, and uses that."""
    url = fresh_postgresql(prepared.at_head)

    def start(store: Store) -> bytes:
        with store.begin() as tx:
            tx.prepare_installation(clock.now())
            return tx.hash("user", "1")

    with opened(url, GOOD) as one, opened(url, GOOD) as two, ThreadPoolExecutor(1) as thread:
        with one.begin() as tx:
            tx.prepare_installation(clock.now())
            second = thread.submit(start, two)
            prepared.wait_until_blocked(one)
            hashed = tx.hash("user", "1")
        assert second.result(20) == hashed


def test_a_key_of_a_transaction_that_was_rolled_back_is_not_used_later(
    store: Store, clock: MovableClock
) -> None:
    """Were it used, what it sealed could never be opened again."""
    now = clock.now()

    def fail() -> None:
        with store.begin() as tx:
            tx.make_key(OWNER, now)
            tx.seal(OWNER, PLACE, "planted words")
            raise RuntimeError("nothing of this is kept")

    with pytest.raises(RuntimeError):
        fail()
    with store.begin() as tx, pytest.raises(SealError, match=f"the data key of {OWNER} is gone"):
        tx.seal(OWNER, PLACE, "planted words")
    with store.begin() as tx:
        tx.make_key(OWNER, now)
        sealed = tx.seal(OWNER, PLACE, "planted words")
    store.forget_keys()
    with store.begin() as tx:
        assert tx.open_text(PLACE, sealed) == "planted words"


def test_a_key_that_was_destroyed_opens_nothing(store: Store, clock: MovableClock) -> None:
    with store.begin() as tx:
        tx.make_key(OWNER, clock.now())
        sealed = tx.seal_json(OWNER, PLACE, {"words": "Grüße"})
        assert tx.open_json(PLACE, sealed) == {"words": "Grüße"}
    with store.begin() as tx:
        tx.connection.execute(sa.delete(tables.data_key).where(tables.data_key.c.owner_id == OWNER))
    store.forget_keys()
    with store.begin() as tx, pytest.raises(SealError, match="is gone"):
        tx.open_json(PLACE, sealed)


def test_a_value_moved_between_rows_of_the_database_does_not_open(store: Store, clock: MovableClock) -> None:
    """Somebody with the database, and without the keys, cannot give one client another's initials."""
    now = clock.now()
    with store.begin() as tx:
        one, two = prepared.enrol(tx, now, ("C1", "C2"))
        client = tables.client.c
        initials = tx.connection.scalar(sa.select(client.initials).where(client.id == one.id))
        tx.connection.execute(sa.update(tables.client).where(client.id == two.id).values(initials=initials))
    with store.begin() as tx:
        assert people.client_by_id(tx, one.id) == one
        with pytest.raises(SealError, match=r"a value of client\.initials does not open where it stands"):
            people.client_by_id(tx, two.id)


def test_nothing_readable_gets_into_a_sealed_column(store: Store, clock: MovableClock) -> None:
    with store.begin() as tx:
        (one,) = prepared.enrol(tx, clock.now())
        change = sa.update(tables.client).where(tables.client.c.id == one.id)
        with pytest.raises(StatementError, match="plain bytes were about to be stored in a sealed column"):
            tx.connection.execute(change.values(initials=b"Zq.W."))
