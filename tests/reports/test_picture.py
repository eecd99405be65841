"""The digest as a picture: what the platform takes, and that a day's mark is read by shape alone."""

import io
from dataclasses import replace
from itertools import combinations

import pytest
from PIL import Image, ImageChops

from bot.domain.adherence import Day, DayState
from bot.domain.client_week import ClientWeek
from bot.reports import picture
from bot.reports.digest import digest_text
from bot.reports.picture import MOST_CLIENTS, Mark, digest_picture, mark, picture_caption
from tests.fixtures.weeks import SIX, client, day, digest, many, weekly

# Limits of a photo (Bot API, sendPhoto; read).
MOST_BYTES = 10 * 1024 * 1024
MOST_SIDES = 10_000
MOST_RATIO = 20

# The last day's cell in the first row of the picture, in pixels, with a little air around it.
LAST_CELL = (962, 128, 1044, 220)


def drawn(*clients: ClientWeek) -> Image.Image:
    return Image.open(io.BytesIO(digest_picture(digest(*clients))))


def cell(one: ClientWeek) -> Image.Image:
    """The last day's mark in pure black and white, as a poor printer would give it."""
    return drawn(one).convert("L").crop(LAST_CELL).point(lambda tone: 255 if tone >= 128 else 0)


def differing(one: Image.Image, other: Image.Image) -> float:
    """The share of pixels that differ."""
    changed = ImageChops.difference(one, other).histogram()
    return 1 - changed[0] / sum(changed)


@pytest.mark.parametrize(
    ("one", "shape"),
    [
        (Day(day(-1), 3, 3), Mark.DONE),
        (Day(day(-1), 3, 5), Mark.DONE),
        (Day(day(-1), 3, 1), Mark.PARTLY),
        (Day(day(-1), 3, 0), Mark.NONE),
        (Day(day(-1), 3, None), Mark.UNKNOWN),
        (Day(day(-1), 0, None), Mark.FREE),
        (Day(day(-1), 0, 2), Mark.FREE),
        (Day(day(-1), 3, 3, DayState.PAUSED), Mark.PAUSED),
        (Day(day(-1), 3, None, DayState.STOPPED), Mark.STOPPED),
        (Day(day(-1), 0, None, DayState.TRAVEL), Mark.TRAVEL),
    ],
)
def test_the_mark_of_a_day(one: Day, shape: Mark) -> None:
    assert mark(one) is shape


@pytest.mark.parametrize(
    "clients",
    [(), SIX[:1], SIX, many(30), many(400), (replace(client("N2", ""), plan_starts_on=None),)],
    ids=["nobody", "one", "six", "thirty", "four hundred", "joined today"],
)
def test_a_picture_the_platform_takes(clients: tuple[ClientWeek, ...]) -> None:
    data = digest_picture(digest(*clients))
    image = Image.open(io.BytesIO(data))
    image.load()
    assert image.format == "PNG"
    assert image.width == 1080
    assert len(data) <= MOST_BYTES
    assert image.width + image.height <= MOST_SIDES
    assert max(image.size) / min(image.size) <= MOST_RATIO


def test_the_same_week_gives_the_same_picture() -> None:
    assert digest_picture(digest(*SIX)) == digest_picture(digest(*SIX))


def test_marks_differ_in_black_and_white() -> None:
    """Every two kinds of day differ in at least one pixel in twenty, without any colour or grey."""
    kinds = {letter: cell(client("A1", f"333333{letter}")) for letter in "3210?-pst"}
    for (one, image), (other, image_of_other) in combinations(kinds.items(), 2):
        assert differing(image, image_of_other) > 0.05, (one, other)


def test_marks_stand_out_from_the_paper() -> None:
    """The darkest tone of each mark gives a contrast of at least 4.5 to 1 on white (WCAG 2; from memory)."""
    for letter in "321?-pst":
        tones = drawn(client("A1", f"333333{letter}")).convert("L").crop(LAST_CELL).histogram()
        darkest = next(tone for tone, pixels in enumerate(tones) if pixels)
        luminance = ((darkest / 255 + 0.055) / 1.055) ** 2.4
        assert 1.05 / (luminance + 0.05) >= 4.5, letter


@pytest.mark.parametrize(("prescribed", "done"), [(10, 5), (24, 1), (24, 23)])
def test_many_sets_a_day_still_read_as_some_done(prescribed: int, done: int) -> None:
    """Even where one bar of ten is filled, one pixel in a hundred changes."""

    def last_day(reported: int) -> Image.Image:
        return cell(replace(client("A1"), days=(Day(day(-1), prescribed, reported),)))

    assert differing(last_day(done), last_day(0)) > 0.01
    assert differing(last_day(done), last_day(prescribed)) > 0.01


def test_the_weekly_line_has_gaps() -> None:
    """A week without an answer changes the picture and its words are not those of a zero."""
    bridged, gap = (
        drawn(replace(client("A1"), leaks=weekly(4, middle, 4))).convert("L") for middle in (0, None)
    )
    assert bridged.size == gap.size
    assert differing(bridged, gap) > 0


def test_a_client_without_weekly_answers_has_no_line() -> None:
    without, unanswered, answered = (
        drawn(replace(client("A1"), leaks=leaks)).height for leaks in ((), weekly(None, None), weekly(3))
    )
    assert without == unanswered < answered


def test_only_the_most_pressing_are_drawn_and_it_says_so() -> None:
    """Forty alike clients: the picture is as high as that of twelve and differs only in its first line."""
    few = drawn(*(client(f"A{n:02}") for n in range(MOST_CLIENTS))).convert("L")
    lots = drawn(*(client(f"A{n:02}") for n in range(40))).convert("L")
    assert few.size == lots.size
    changed = ImageChops.difference(few, lots).getbbox()
    assert changed is not None
    assert changed[3] < LAST_CELL[1]


@pytest.mark.parametrize("code", ['#panic("x")', "*A* _b_ $c$", '"\\"', "#[", "<A1> @b // c", "§ė日本🙂"])
def test_a_code_is_never_read_as_markup(code: str) -> None:
    """Data goes in beside the template, so that whatever it holds is drawn as it stands."""
    assert drawn(client(code)).size == drawn(client("A1")).size


def test_only_our_own_fonts_are_used() -> None:
    assert picture.our_fonts().families() == ["DejaVu Sans"]
    assert (
        (picture.FONTS / "LICENSE-DejaVu.txt")
        .read_text(encoding="utf-8")
        .startswith("Fonts are (c) Bitstream")
    )


def test_the_caption_gives_the_days_and_repeats_nothing_of_the_text() -> None:
    caption = picture_caption(digest(*SIX))
    assert caption == (
        "Mon 2 Mar to Sun 8 Mar 2026, day by day: sets done of sets due.\n"
        "? no answer, so unknown, - nothing due, p paused, s stopped\n"
        "\n"
        "K7: 3/3 3/3 3/3 1/3 ? ? 3/3\n"
        "B2: s s 3/3 0/3 s s ?\n"
        "M4: 3/3 ? ? ? ? ? ?\n"
        "R9: 2/3 3/3 1/3 0/3 2/3 0/3 3/3\n"
        "T1: p p 3/3 3/3 - 3/3 3/3\n"
        "W5: 4/4 4/4 4/4 4/4 4/4 4/4 3/4"
    )
    text = set(digest_text(digest(*SIX)).splitlines()) - {""}
    assert not text & set(caption.splitlines())


def test_the_caption_counts_those_it_leaves_out() -> None:
    caption = picture_caption(digest(*(client(f"A{n:02}") for n in range(40))))
    assert caption.splitlines()[-1] == "and 28 more"


def test_the_caption_for_nobody() -> None:
    assert picture_caption(digest()) == (
        "Mon 2 Mar to Sun 8 Mar 2026\nNo client is enrolled, so there is nothing to report."
    )
