"""Two nights at 02:10 as the command plays them: who was told when, with somebody on call and without."""

from pathlib import Path

from demo import nights


def test_two_nights(tmp_path: Path) -> None:
    watched, unwatched = nights.play(tmp_path)
    assert watched.steps == [
        ("Tue 02:10", "raised"),
        ("Tue 02:10", "told O1"),
        ("Tue 02:10", "told T1"),
        ("Tue 02:25", "told O1"),
        ("Tue 02:30", "she was asked whether she reached someone"),
        ("Tue 02:32", "did she reach someone? Not yet"),
        ("Tue 02:32", "told O1"),
        ("Tue 02:32", "told F1"),
        ("Tue 02:40", "told F1"),
        ("Tue 03:40", "told O1"),
        ("Tue 03:40", "told F1"),
        ("Tue 03:45", "seen by O1"),
        ("Tue 03:55", "closed: spoke to her (O1)"),
    ]
    assert unwatched.steps == [
        ("Tue 02:10", "raised"),
        ("Tue 02:10", "told T1"),
        ("Tue 02:30", "she was asked whether she reached someone"),
        ("Tue 02:32", "did she reach someone? Yes, I did"),
        ("Tue 09:00", "told T1"),
        ("Tue 09:15", "told T1"),
        ("Tue 09:30", "told F1"),
        ("Tue 10:30", "told T1"),
        ("Tue 10:30", "told F1"),
        ("Tue 10:35", "seen by F1"),
        ("Tue 10:35", "closed: passed on: Maternity unit, they kept her in (F1)"),
    ]
    for night in (watched, unwatched):
        assert night.client_read[0] == "02:10 Call 112 now. Ask for an ambulance."
        shown = night.page.splitlines()
        assert shown == [f"{at.replace('Tue', 'Tue 3 Mar')} {what}" for at, what in night.steps]
