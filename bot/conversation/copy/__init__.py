"""Every sentence the bot says, by id and language."""

from collections.abc import Mapping

from bot.conversation.copy import (
    en_administrator,
    en_advice,
    en_caseload,
    en_choices,
    en_client,
    en_desk,
    en_ending,
    en_form,
    en_plan,
    en_staff,
)

LANGUAGES: Mapping[str, Mapping[str, str]] = {
    "en": {
        **en_client.SENTENCES,
        **en_advice.SENTENCES,
        **en_plan.SENTENCES,
        **en_staff.SENTENCES,
        **en_form.SENTENCES,
        **en_caseload.SENTENCES,
        **en_choices.SENTENCES,
        **en_ending.SENTENCES,
        **en_administrator.SENTENCES,
        **en_desk.SENTENCES,
    },
}
FALLBACK = "en"


def text(language: str, sentence: str, values: Mapping[str, str | int]) -> str:
    """A finished sentence; raises KeyError for an unknown id or a missing value.

    A language without its own words speaks English rather than nothing.
    """
    words = LANGUAGES.get(language, LANGUAGES[FALLBACK])
    return words[sentence].format(**values)


def as_written(language: str, sentence: str) -> str:
    """A sentence with the names of its values in braces, for whoever signs it."""
    return LANGUAGES.get(language, LANGUAGES[FALLBACK])[sentence]


def has(language: str, sentence: str) -> bool:
    """Whether there is such a sentence."""
    return sentence in LANGUAGES.get(language, LANGUAGES[FALLBACK])
