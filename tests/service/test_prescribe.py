"""A new version is put in force: nothing is edited, nothing overlaps, no gate is passed."""

import datetime as dt
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from bot.domain.alerts import Alert
from bot.domain.levels import Level
from bot.domain.people import Client, Stage
from bot.domain.prescription import in_force
from bot.errors import RefusedError
from bot.rules import prescription_file
from bot.service import prescribing
from bot.service.programme import versions_of
from bot.store import alerts, diary, people
from bot.store.base import Store
from bot.store.ids import new_id
from tests.fixtures.clock import MovableClock
from tests.fixtures.databases import Fresh
from tests.rules.checkout import ROOT
from tests.store import prepared

MONDAY = dt.date(2026, 3, 2)
TEXT = (ROOT / "docs/examples/caesarean.toml").read_text(encoding="utf-8")


@pytest.fixture
def store(request: pytest.FixtureRequest, clock: MovableClock) -> Iterator[Store]:
    """A clinic with one client, on SQLite unless a test asks for `each_engine`."""
    fresh: Fresh = request.getfixturevalue(f"fresh_{getattr(request, 'param', 'sqlite')}")
    made = prepared.open_store(fresh(prepared.at_head), clock.now())
    with made.begin() as tx:
        (client,) = prepared.enrol(tx, clock.now())
        diary.start_track(tx, client.id, 3, "all", clock.now())
        diary.change_track(tx, client.id, next_at=clock.now() + dt.timedelta(days=1))
    yield made
    made.close()


@pytest.fixture
def prescribe(store: Store, clock: MovableClock, tmp_path: Path) -> Any:
    """Puts the example in force for the client, from a day on, with some words changed."""

    def put(starts_on: str = "2026-03-03", *changes: tuple[str, str], therapist: str | None = None) -> Any:
        text = TEXT.replace("2026-03-03", starts_on)
        for before, after in changes:
            assert before in text
            text = text.replace(before, after)
        file = tmp_path / "C1.toml"
        file.write_text(text, encoding="utf-8")
        return prescribing.prescribe(store.begin, clock, None, therapist, file)

    return put


each_engine = pytest.mark.parametrize("store", ["sqlite", "postgresql"], indirect=True)


def her(store: Store) -> Client:
    with store.begin() as tx:
        clinic = people.clinic_by_code(tx, "harbour")
        assert clinic is not None
        client = people.client_by_code(tx, clinic.id, "C1")
        assert client is not None
        return client


def kept_of(store: Store) -> list[tuple[int, dict[str, Any]]]:
    client = her(store)
    with store.begin() as tx:
        return people.prescription_documents(tx, [client.id]).get(client.id, [])


def faults(refused: pytest.ExceptionInfo[RefusedError]) -> list[str]:
    return [line.partition("C1.toml: ")[2] or line for line in refused.value.faults]


@each_engine
def test_the_diary_finds_the_version_in_force_on_a_day(store: Store, prescribe: Any) -> None:
    first = prescribe("2026-03-03")
    assert (first.client, first.version, first.starts_on, first.changes) == ("C1", 1, dt.date(2026, 3, 3), ())
    second = prescribe(
        "2026-03-09",
        ("hold_s = 6", "hold_s = 8"),
        ('position = "lying"\n\n[[programme.c', 'position = "sitting"\n\n[[programme.c'),
    )
    assert (second.version, second.changes) == (
        2,
        ("Pelvic-floor long hold: hold 6 s -> 8 s; sitting instead of lying",),
    )
    client = her(store)
    with store.begin() as tx:
        versions = versions_of(tx, [client.id])[client.id]
    held = {day: in_force(versions, dt.date(2026, 3, day)) for day in (2, 3, 8, 9, 20)}
    assert {day: one and one.version for day, one in held.items()} == {2: None, 3: 1, 8: 1, 9: 2, 20: 2}


def test_what_was_put_in_force_is_kept_whole_and_comes_back(
    store: Store, prescribe: Any, tmp_path: Path
) -> None:
    prescribe()
    ((_, document),) = kept_of(store)
    kept = prescription_file.from_document(document, "stored")
    assert kept == prescription_file.read(tmp_path / "C1.toml")
    assert prescription_file.parse(prescription_file.to_text(kept), "again") == kept


def test_her_nudges_are_worked_out_anew(store: Store, clock: MovableClock, prescribe: Any) -> None:
    prescribe()
    client = her(store)
    with store.begin() as tx:
        track = diary.track_of(tx, client.id)
    assert track is not None
    assert track.next_at == clock.now()


@pytest.mark.parametrize("starts_on", ["2026-03-08", "2026-03-09"])
def test_two_versions_may_not_overlap(store: Store, prescribe: Any, starts_on: str) -> None:
    prescribe("2026-03-09")
    with pytest.raises(RefusedError) as refused:
        prescribe(starts_on)
    assert faults(refused) == [
        (
            f"programme.starts_on: {starts_on} overlaps version 1, which starts on 2026-03-09; "
            "expected a later day"
        )
    ]
    assert len(kept_of(store)) == 1


def test_the_past_is_not_prescribed_and_the_day_is_hers(clock: MovableClock, prescribe: Any) -> None:
    """Half past midnight in Lisbon in summer time is still the day before in UTC."""
    clock.set(dt.datetime(2026, 4, 6, 23, 30, tzinfo=dt.UTC))
    with pytest.raises(RefusedError) as refused:
        prescribe("2026-04-06")
    assert faults(refused) == [
        "programme.starts_on: 2026-04-06 lies in the past; expected 2026-04-07 or later"
    ]
    assert prescribe("2026-04-07").version == 1


def test_a_gate_stands_against_it(store: Store, prescribe: Any) -> None:
    with pytest.raises(RefusedError) as refused:
        prescribe(
            "2026-03-03",
            ("repetitions = 10\ndays", "repetitions = 10\ntimes_a_day = 1\ndays"),
            ('exercise = "bridge-ball-squeeze"\nposition', 'exercise = "curl-up"\nposition'),
        )
    (fault,) = faults(refused)
    assert fault.startswith("programme.adjuncts.0.exercise: curl-up is not allowed yet on 2026-03-03: ")
    assert kept_of(store) == []


@pytest.mark.parametrize(("level", "closes"), [(Level.THERAPIST, True), (Level.NEXT_REVIEW, False)])
def test_an_open_alert_closes_a_gate(
    store: Store, clock: MovableClock, prescribe: Any, level: Level, closes: bool
) -> None:
    """What only waits for the next review is known and unchanged, and closes nothing."""
    alert = Alert(
        new_id(clock.now()), her(store).id, level, "ordinary", ("doming",), "a ridge", clock.now(), 0
    )
    with store.begin() as tx:
        alerts.add(tx, alert)
    if not closes:
        assert prescribe().version == 1
        return
    with pytest.raises(RefusedError) as refused:
        prescribe()
    assert faults(refused) == [
        (
            "releases.0: the conditions did not hold on 2026-03-02: "
            "a warning sign is open since 2026-03-02: doming; "
            "expected a release once they hold, or an override that names them under sets_aside"
        ),
        (
            "programme.adjuncts.0.exercise: bridge-ball-squeeze is not allowed yet on 2026-03-03: "
            "a warning sign is open since 2026-03-02: doming"
        ),
    ]
    bridge = TEXT[
        TEXT.index("[[programme.adjuncts]]") : TEXT.index('[[programme.adjuncts]]\nexercise = "scar')
    ]
    release = TEXT[TEXT.index("[[releases]]") : TEXT.index("[programme]")]
    assert prescribe("2026-03-03", (bridge, ""), (release, "")).version == 1


def test_who_may_be_prescribed_for_and_who_signs(
    store: Store, prescribe: Any, tmp_path: Path, clock: MovableClock
) -> None:
    with pytest.raises(RefusedError, match=r"client C9: unknown; enrol her with `programme-bot add-client`"):
        prescribe("2026-03-03", ('client = "C1"', 'client = "C9"'))
    with pytest.raises(RefusedError, match="therapist T7: unknown; known are: T1"):
        prescribe(therapist="T7")
    with pytest.raises(RefusedError, match="clinic elsewhere: unknown"):
        prescribing.prescribe(store.begin, clock, "elsewhere", None, tmp_path / "C1.toml")
    client = her(store)
    with store.begin() as tx:
        people.set_stage(tx, client.id, Stage.WITHDRAWN)
    with pytest.raises(RefusedError, match="C1 has stopped; expected one who takes part"):
        prescribe()


def test_a_finding_from_the_future_is_refused(prescribe: Any) -> None:
    with pytest.raises(RefusedError) as refused:
        prescribe("2026-03-03", ("on = 2026-03-02\ncontraction", "on = 2026-03-03\ncontraction"))
    assert faults(refused) == [
        "findings.0.on: 2026-03-03 lies in the future; expected a day up to 2026-03-02"
    ]
