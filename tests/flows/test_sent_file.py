"""A therapist sends a prescription file as a document; whatever else is sent is never downloaded."""

import json

import pytest

from tests.flows.conftest import Scene


def downloads(scene: Scene) -> list[str]:
    """What the bot asked the platform for, by the room's record."""
    lines = (scene.folder / "record.jsonl").read_text(encoding="utf-8").splitlines()
    asked = [json.loads(line) for line in lines]
    return [line["method"] for line in asked if line.get("method") in {"getFile", "download"}]


def test_a_file_is_checked_summed_up_and_put_in_force(scene: Scene) -> None:
    room, therapist = scene.room, scene.clinic.therapist
    client = scene.enrol("K1")
    room.move(to="2026-03-02T09:00:00Z")
    text = scene.prescription("K1").read_text(encoding="utf-8")
    later = text.replace("starts_on = 2026-03-02", "starts_on = 2026-03-09").replace(
        "repetitions = 8", "repetitions = 10"
    )
    assert later != text

    slips = later.replace("repetitions = 10", "repetitions = 400").replace('zone = "', 'zone = "Mars/')
    room.document(therapist, "k1.toml", slips.encode())
    refused = scene.last(therapist)
    assert refused.startswith("That file cannot be used, and nothing of it was kept.")
    assert "k1.toml: zone: " in refused
    assert "k1.toml: programme.contractions.0.repetitions: " in refused

    room.document(therapist, "k1.toml", later.replace("\n", "\r\n").encode("utf-8-sig"))
    shown = room.last(therapist)
    assert shown.text.startswith("K1: a file, nothing is in force yet.")
    assert "K1: from 2026-03-09, review on " in shown.text
    assert "dose: " in shown.text
    assert "against version 1:" in shown.text
    assert "repetitions 8 -> 10" in shown.text
    assert shown.labels == ("Put in force for K1", "Throw away")
    before = len(room.from_bot(client))
    room.press(therapist, "Put in force for K1")
    assert scene.last(therapist).startswith("K1: version 2 is in force from 9 Mar 2026. Signed T1")
    (told,) = room.from_bot(client)[before:]
    assert told.text.startswith("Your plan changes from Monday 9 March.")
    assert downloads(scene) == ["getFile", "download"] * 2

    room.document(therapist, "k9.toml", later.replace('client = "K1"', 'client = "K9"').encode())
    room.press(therapist, "Throw away")
    assert scene.last(therapist) == "K9: the draft is thrown away. Nothing was put in force."
    fetched = len(downloads(scene))

    # What is no prescription file, or comes from somebody else, stays where it is.
    room.document(therapist, "holiday.jpg", b"\xff\xd8")
    assert scene.last(therapist).startswith("I read prescription files only")
    room.document(therapist, "big.toml", b"x" * 300_000)
    assert scene.last(therapist).startswith("That file is too large")
    for kind in ("photo", "voice", "video"):
        room.send_media(therapist, kind)
        assert scene.last(therapist).startswith("I do not open pictures or recordings")
    room.document(client, "k1.toml", later.encode())
    assert scene.last(client).startswith("Nobody can see or hear that")
    room.document(scene.clinic.fallback, "k1.toml", later.encode())
    assert scene.last(scene.clinic.fallback).startswith("I do not open pictures or recordings")
    assert len(downloads(scene)) == fetched
    assert scene.sql("select count(*) from sent_file") == [(0,)]


@pytest.mark.slow
def test_a_platform_that_fails_is_asked_again_and_then_given_up(scene: Scene) -> None:
    room, therapist = scene.room, scene.clinic.therapist
    text = scene.prescription("K1").read_text(encoding="utf-8")
    room.fault("getFile", "500", times=1)
    room.document(therapist, "k1.toml", text.encode())
    room.move(by_s=40)
    assert scene.last(therapist).startswith("K1: a file, nothing is in force yet.")
    assert downloads(scene) == ["getFile", "getFile", "download"]
    room.fault("getFile", "500", times=10)
    room.document(therapist, "k1.toml", text.encode())
    room.move(by_s=300)
    assert scene.last(therapist).startswith("I could not fetch the file")
