"""The bundle for the record system: read by the maintained resource library, and held to the code lists.

The library takes an unknown status and `timeOfDay` beside `when`, so the codes are checked here as well.
"""

import json
from collections import Counter
from dataclasses import replace
from typing import Any

import pytest
from fhir.resources.R4B.bundle import Bundle

from bot.domain.client_record import Told
from bot.domain.prescription import Adjunct, Position
from bot.reports import fhir
from bot.reports.summary_parts import About
from tests.fixtures import records

# Code lists of FHIR R4 (read).
STATUS = {
    "CarePlan": {"draft", "active", "on-hold", "revoked", "completed", "entered-in-error", "unknown"},
    "ServiceRequest": {"draft", "active", "on-hold", "revoked", "completed", "entered-in-error", "unknown"},
    "Observation": {"registered", "preliminary", "final", "amended", "corrected", "cancelled", "unknown"},
    "Flag": {"active", "inactive", "entered-in-error"},
    "Communication": {"preparation", "in-progress", "not-done", "on-hold", "stopped", "completed", "unknown"},
}
ABSENT = {"unknown", "asked-unknown", "temp-unknown", "not-asked", "asked-declined", "masked"}
UNITS_OF_TIME = {"s", "min", "h", "d", "wk", "mo", "a"}
WEEKDAYS = {"mon", "tue", "wed", "thu", "fri", "sat", "sun"}


def of(about: About | None = None) -> dict[str, Any]:
    """The bundle as it is written, after the library has read it."""
    text = json.dumps(fhir.bundle(about or records.about()))
    Bundle.model_validate_json(text)
    made: dict[str, Any] = json.loads(text)
    return made


def resources(made: dict[str, Any], kind: str) -> list[dict[str, Any]]:
    return [e["resource"] for e in made["entry"] if e["resource"]["resourceType"] == kind]


def walk(node: Any) -> Any:
    yield node
    for part in node.values() if isinstance(node, dict) else node if isinstance(node, list) else ():
        yield from walk(part)


@pytest.fixture(scope="module")
def made() -> dict[str, Any]:
    return of()


@pytest.mark.parametrize(
    "about", [records.about(), records.about(records.crowded())], ids=["usual", "crowded"]
)
def test_codes_are_those_of_the_standard(about: About) -> None:
    bundle = of(about)
    for entry in bundle["entry"]:
        resource = entry["resource"]
        if resource["resourceType"] in STATUS:
            assert resource["status"] in STATUS[resource["resourceType"]]
    for node in walk(bundle):
        if isinstance(node, dict) and "repeat" in node:
            repeat = node["repeat"]
            assert repeat["periodUnit"] in UNITS_OF_TIME
            assert not ("when" in repeat and "timeOfDay" in repeat)
            assert set(repeat.get("dayOfWeek", ())) <= WEEKDAYS
        if isinstance(node, dict) and node.get("system") == fhir.ABSENT:
            assert node["code"] in ABSENT


def test_every_reference_points_into_the_bundle(made: dict[str, Any]) -> None:
    urls = [entry["fullUrl"] for entry in made["entry"]]
    assert max(Counter(urls).values()) == 1
    wanted = {
        node["reference"]
        for node in walk(made)
        if isinstance(node, dict) and isinstance(node.get("reference"), str)
    }
    assert wanted
    assert wanted <= set(urls)


def test_the_prescription_and_its_versions(made: dict[str, Any]) -> None:
    first, second = resources(made, "CarePlan")
    assert (first["status"], second["status"]) == ("revoked", "active")
    assert first["period"] == {"start": "2026-02-16", "end": "2026-03-10"}
    requests = resources(made, "ServiceRequest")
    assert len(requests) == 8  # two parts of a set and two exercises beside them, in each version
    assert requests[4]["code"]["coding"][0]["code"] == "pelvic-floor-long-hold"
    repeat = requests[4]["occurrenceTiming"]["repeat"]
    assert (repeat["frequency"], repeat["period"], repeat["periodUnit"], repeat["count"]) == (3, 1, "d", 8)
    assert repeat["timeOfDay"] == ["08:30:00", "13:00:00", "18:30:00"]
    assert requests[4]["patientInstruction"] == "Pelvic-floor long hold: 8 x 7 s, rest 10 s, lying"


def test_silence_is_no_zero(made: dict[str, Any]) -> None:
    """A reported zero is a value; a day nobody answered says why there is none."""
    days = {
        one["effectiveDateTime"]: one
        for one in resources(made, "Observation")
        if one["code"]["coding"][0]["code"] == "sets-done"
    }
    assert days["2026-03-27"]["valueQuantity"]["value"] == 0
    assert days["2026-03-25"]["dataAbsentReason"]["coding"][0]["code"] == "temp-unknown"
    assert "valueQuantity" not in days["2026-03-25"]
    assert "issued" not in days["2026-03-25"]


def test_answers_are_ranges_as_she_tapped_them() -> None:
    one = records.record()
    at = one.symptoms[0].said_at
    asked = (("leaks", 3), ("leaks", 7), ("pain", 4), ("pain", None), ("leaks_said", 5))
    told = tuple(Told(one.today, question, value, at) for question, value in asked)
    found = [
        answer
        for answer in resources(of(records.about(replace(one, symptoms=told))), "Observation")
        if answer["code"]["coding"][0]["code"] not in {"sets-done", "walking"}
    ]
    assert found[0]["valueRange"]["low"]["value"] == 3
    assert found[0]["valueRange"]["high"] == {
        "value": 6,
        "unit": "{episodes}/wk",
        "system": "http://unitsofmeasure.org",
        "code": "{episodes}/wk",
    }
    assert "high" not in found[1]["valueRange"]
    assert found[2]["code"]["coding"][1] == {"system": "http://loinc.org", "code": "72514-3"}
    assert found[3]["dataAbsentReason"]["coding"][0]["code"] == "asked-declined"
    assert found[4]["valueQuantity"]["value"] == 5


def test_alerts_with_what_came_of_them(made: dict[str, Any]) -> None:
    closed, still_open = resources(made, "Flag")
    assert (closed["status"], still_open["status"]) == ("inactive", "active")
    assert "end" in closed["period"]
    first, _ = resources(made, "Communication")
    assert first["priority"] == "stat"
    assert first["statusReason"]["coding"][0]["code"] == "spoke"
    assert first["payload"][1]["contentString"] == "wet through"
    assert first["note"][0]["text"] == "closed: Seen at the hospital, all clear (T1)"


def test_exercises_on_some_days_and_beside_the_sets() -> None:
    one = records.record()
    walking = Adjunct("walking", Position.STANDING, days=frozenset({1, 5}), minutes=20)
    version = replace(
        one.versions[1], prescription=replace(one.versions[1].prescription, adjuncts=(walking,))
    )
    found = resources(of(records.about(replace(one, versions=(version,)))), "ServiceRequest")[-1]
    repeat = found["occurrenceTiming"]["repeat"]
    assert (repeat["frequency"], repeat["dayOfWeek"]) == (1, ["tue", "sat"])
    assert "timeOfDay" not in repeat


def test_what_she_told_of_beside_the_sets(made: dict[str, Any]) -> None:
    told = [
        (one["effectiveDateTime"], one["valueQuantity"]["value"])
        for one in resources(made, "Observation")
        if one["code"]["coding"][0]["code"] == "walking"
    ]
    assert len(told) == 7
    assert told[-1] == ("2026-03-29", 1)


def test_no_name_is_in_it_and_the_same_record_gives_the_same_bundle(made: dict[str, Any]) -> None:
    assert made == of()
    assert "A.B." not in json.dumps(made)
    patient = resources(made, "Patient")[0]
    assert patient["identifier"][0]["value"] == "K7"
    assert patient["extension"][0]["valueCode"] == "Europe/Dublin"
