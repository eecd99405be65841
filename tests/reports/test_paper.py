"""Pages as PDF: tagged, real text in one family of fonts; a summary is one page whatever happened."""

import datetime as dt
import io
from dataclasses import replace

import pytest
from pypdf import PdfReader
from pypdf.generic import DictionaryObject, IndirectObject

from bot.reports import paper, summary_parts
from bot.reports.words import ENGLISH
from tests.fixtures import records
from tests.fixtures.weeks import SIX, digest, many

AT = dt.datetime(2026, 3, 30, 9, 0, 0, 123, tzinfo=dt.UTC)


def summary_of(about: summary_parts.About) -> PdfReader:
    return PdfReader(io.BytesIO(paper.summary_pdf(about, ENGLISH)))


def digest_of(*clients: object) -> PdfReader:
    heading = paper.Heading("Harbour Steps Physiotherapy", "T1", AT.date())
    data = digest(*clients)  # type: ignore[arg-type]
    return PdfReader(io.BytesIO(paper.digest_pdf(data, heading, AT, ENGLISH)))


def tags(of: PdfReader) -> list[DictionaryObject]:
    """Every element of the structure tree."""
    found: list[DictionaryObject] = []
    left = [of.trailer["/Root"]["/StructTreeRoot"]]  # type: ignore[index]
    while left:
        node = left.pop()
        node = node.get_object() if isinstance(node, IndirectObject) else node
        if isinstance(node, list):
            left.extend(node)
        elif isinstance(node, dict):
            if "/S" in node:
                found.append(node)  # type: ignore[arg-type]
            left.append(node.get("/K", []))
    return found


def fonts(of: PdfReader) -> set[str]:
    return {
        str(font.get_object()["/BaseFont"]).partition("+")[2].partition("-")[0]
        for page in of.pages
        for font in page["/Resources"]["/Font"].values()  # type: ignore[index]
    }


@pytest.fixture(scope="module")
def page() -> PdfReader:
    return summary_of(records.about())


def test_a_page_is_tagged_and_says_what_it_is(page: PdfReader) -> None:
    root = page.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]  # type: ignore[index]
    assert root["/Lang"] == "en"  # type: ignore[index]
    assert page.metadata is not None
    assert page.metadata.title == "Review summary, Client K7"
    kinds = {str(tag["/S"]) for tag in tags(page)}
    assert {"/H1", "/H2", "/Table", "/TH", "/TD", "/L", "/Figure"} <= kinds
    assert page.xmp_metadata is not None
    assert "pdfuaid" in page.xmp_metadata.stream.get_data().decode()  # says that it keeps PDF/UA


def test_every_figure_has_its_words(page: PdfReader) -> None:
    words = [str(tag.get("/Alt", "")) for tag in tags(page) if str(tag["/S"]) == "/Figure"]
    assert all(words)
    assert any("Fri 27 Mar: 0 of 3" in text and "Wed 25 Mar: no answer, so unknown" in text for text in words)


def test_the_text_is_real_and_in_one_family(page: PdfReader) -> None:
    text = page.pages[0].extract_text()
    for part in ("Client K7", "Version 2, in force since", "Is swimming all right?", "Seen at the hospital"):
        assert part in text
    assert fonts(page) == {"DejaVuSans"}


@pytest.mark.parametrize("discharge", [False, True])
def test_a_summary_is_one_page_whatever_happened(discharge: bool) -> None:
    about = replace(records.about(records.crowded()), discharge=discharge)
    full = summary_of(about)
    assert len(full.pages) == 1
    assert "русский" in full.pages[0].extract_text()


def test_pages_are_counted_as_a_reader_counts_them() -> None:
    heading = paper.Heading("Harbour Steps Physiotherapy", None, AT.date())
    made = paper.digest_pdf(digest(*many(60)), heading, AT, ENGLISH)
    assert paper.pages(made) == len(PdfReader(io.BytesIO(made)).pages) > 1


def test_the_same_input_gives_the_same_file() -> None:
    assert paper.summary_pdf(records.about(), ENGLISH) == paper.summary_pdf(records.about(), ENGLISH)


def test_a_digest_shows_every_client_in_the_order_of_attention() -> None:
    one = digest_of(*SIX)
    text = one.pages[0].extract_text()
    places = [text.index(f"\n{code} ") for code in ("K7", "B2", "M4", "R9", "T1", "W5")]
    assert places == sorted(places)
    assert {str(tag["/S"]) for tag in tags(one)} >= {"/H1", "/Table", "/TH", "/TD", "/Figure"}
    assert fonts(one) == {"DejaVuSans"}


@pytest.mark.slow
def test_four_hundred_clients_take_as_many_pages_as_they_need() -> None:
    full = digest_of(*many(400))
    text = "".join(page.extract_text() for page in full.pages)
    assert all(f"C{n}" in text for n in range(400))
    assert 10 < len(full.pages) < 40
    assert all("why, then sets done" in page.extract_text() for page in full.pages)  # headings on each page


def test_nobody_enrolled_is_a_page_that_says_so() -> None:
    assert "No client is enrolled" in digest_of().pages[0].extract_text()
