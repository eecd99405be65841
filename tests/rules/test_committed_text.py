"""What no committed text may hold: places on a developer's machine, package indexes, real phone numbers."""

import re

import pytest

from tests.rules.checkout import committed, text

# Each pattern is written so that it does not match itself.
FORBIDDEN = {
    "a folder of somebody's machine": re.compile(
        r"(?<![\w.~>-])/(?:home|Users)/[a-z]\w*|(?<![\w.~>-])/(?:root|work)/|/tmp/[s]/"
    ),
    "a package index": re.compile(
        r"pypi\.(?:org|python)|pythonhosted\.org|npmjs\.(?:org|com)|deb\.debian\.org|security\.debian\.org"
        r"|registry\.(?:yarnpkg|gitlab)|(?:index|extra-index)-url[ =]|proxy\.golang\.org"
    ),
}

# Runs of digits in the shapes that people write numbers in; short service numbers (112, 999) are let be.
PHONE = re.compile(
    r"""(?<![\w.:/+#=-])(?:
        \+\d[\d ()-]{7,16}\d                        # +44 1632 960123
      | \(?0\d{1,4}\)?[ -]\d{3,4}[ -]?\d{3,4}       # 01632 960123, 020 7946 0123, (02) 5550 1234
      | 0\d{9,10}                                   # 07700900123
      | 1[38]00[ -]?\d{3}[ -]?\d{3}                 # 1800 975 701
      | (?:1[ -])?\(?[2-9]\d{2}\)?[ -]\d{3}-\d{4}   # (212) 555-0123
      | [2-9]\d{2}-\d{4}(?=[ .,;)\"'\n])            # 555-0123
    )(?![\w-])""",
    re.VERBOSE,
)
# Ranges that the regulators keep for fiction, as digits without the country's prefix (from memory).
RESERVED = re.compile(
    r"""
    (?:44|0) (?: 1632960\d{3} | 7700900\d{3} | 2079460\d{3} | 3069990\d{3} | 8081570\d{3} | 9098790\d{3}
               | 1(?:1[345678]|21|31|41|51|61)496\d{4} | 1914980\d{3} | 2896496\d{3} | 2920180\d{3} )
  | (?:353|0) 2091\d{5}                                                      # Ireland
  | (?:1)? [2-9]\d{2} 55501\d{2} | 55501\d{2}                                # North America
  | (?:61|0)? (?: [2378](?:5550|7010)\d{4} | 491570\d{3} ) | 1[38]009757\d{2}  # Australia
    """,
    re.VERBOSE,
)


def real_numbers(words: str) -> list[str]:
    """The phone numbers in a text that somebody may really have."""
    found = (match.group() for match in PHONE.finditer(words))
    return [number for number in found if not RESERVED.fullmatch(re.sub(r"\D", "", number))]


def traces(words: str) -> list[str]:
    """What a text gives away about the machine it was written on."""
    return [
        f"{what}: {match.group()}" for what, shape in FORBIDDEN.items() for match in shape.finditer(words)
    ]


def test_no_committed_text_names_a_machine_or_an_index() -> None:
    found = {path: wrong for path in committed() if (wrong := traces(text(path) or ""))}
    assert found == {}


def test_every_phone_number_is_one_kept_for_fiction() -> None:
    here = {path: text(path) or "" for path in committed() if path != "tests/rules/test_committed_text.py"}
    found = {path: wrong for path, words in here.items() if (wrong := real_numbers(words))}
    assert found == {}


@pytest.mark.parametrize(
    "planted",
    [
        "see " + "/home" + "/anna/notes",
        "cd " + "/root" + "/checkout",
        '"' + "/work" + '/main"',
        "https://" + "pypi" + ".org/simple",
        "pip install --" + "index-url" + " https://example.org",
    ],
)
def test_a_planted_trace_is_found(planted: str) -> None:
    assert len(traces(planted)) == 1


@pytest.mark.parametrize(
    "number",
    [
        "0113 278 4561",
        "01132784561",
        "+44 7911 123456",
        "021 427 3361",
        "+353 21 427 3361",
        "(212) 736-5000",
        "+1 212 736 5000",
        "555-2368",
        "1800 123 456",
        "(02) 9374 4000",
    ],
)
def test_a_planted_number_is_found(number: str) -> None:
    assert real_numbers(f"Ring {number}.") == [number]


@pytest.mark.parametrize(
    "number",
    [
        "01632 960123",
        "+44 1632 960123",
        "07700 900123",
        "07700900123",
        "020 7946 0123",
        "020 911 2345",
        "+353 20 911 2345",
        "(212) 555-0123",
        "+1 212 555 0123",
        "555-0199",
        "1800 975 701",
        "(02) 5550 1234",
        "112",
        "2026-03-02",
        "2026-03-02T08:00:00Z",
        "10 000 000",
    ],
)
def test_numbers_kept_for_fiction_and_other_digits_are_let_be(number: str) -> None:
    assert real_numbers(f"Ring {number}.") == []
