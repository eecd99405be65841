"""The one doubt that hides a grave sign: "I can't feel it" may be a question of skill, or numbness."""

import re

# What she cannot feel is left open on purpose: the question that follows is about the grave meaning alone.
_CANNOT_FEEL = re.compile(
    r"\b(?:can'?t|cannot|can not|could(?:n'?t| not)|do(?:n'?t| not)|never|hardly|barely) "
    r"(?:(?:really|even|actually|always) )?feel "
    r"(?:it|a thing|anything|any of it|much|my|the|when|down)\b"
    r"|\bfeel(?:ing)? (?:nothing|no squeeze|no lift)\b",
)
GRAVE_SIGN = "cauda_equina"


def cannot_feel(text: str) -> bool:
    """Whether a message says that she cannot feel something of the exercise or of her body."""
    plain = " ".join(text.lower().replace("\u2019", "'").split())
    return _CANNOT_FEEL.search(plain) is not None
