"""The one doubt that hides a grave sign: "I can't feel it" may be a question of skill, or numbness."""

import re

# What she cannot feel is left open on purpose: the question that follows is about the grave meaning alone.
_CANNOT_FEEL = re.compile(
    r"\b(?:can'?t|cannot|can not|could(?:n'?t| not)|do(?:n'?t| not)|never|hardly|barely) "
    r"(?:(?:really|even|actually|always) )?feel "
    r"(?:it|a thing|anything|any of it|much|my|the|when|down)\b"
    r"|\bfeel(?:ing)? (?:nothing|no squeeze|no lift)\b",
)
_MARKS = re.compile(r"[^\w\s]|_")
GRAVE_SIGN = "cauda_equina"


def _set(entries: str) -> frozenset[str]:
    return frozenset(" ".join(entry.split()) for entry in entries.split(","))


# Her typed answer to the question, without its marks. A doubt counts as less: the higher level wins.
_LESS = _set("""
    no or less, no less, less, a bit less, a little less, less than before, no feeling, numb, its numb, it is
    numb, no i cant, no i cannot, no i dont, i cant, i cannot, i dont, cant, not really, no not really, not as
    always, no not as always, not as before, not like before, not at all, no not at all, hardly, barely, sort
    of, kind of, a bit, a little, not sure, im not sure, i am not sure, unsure, i dont know, dont know, maybe,
    different, its different, nothing, dont think so, i dont think so, no i dont think so, not quite, not
    entirely, not fully, not completely, not properly, not much
""")
_NAMES_IT = frozenset({"less", "numb", "feel", "feeling", "always"})
_AS_ALWAYS = _set("""
    yes as always, as always, yes i can, i can, yes i do, i do, yes i can feel it, i can feel it, i can feel
    that, yes i can feel that, yes same as always, same as always, yes like always, like always, yes normal,
    yes its normal
""")


def cannot_feel(text: str) -> bool:
    """Whether a message says that she cannot feel something of the exercise or of her body."""
    plain = " ".join(text.lower().replace("\u2019", "'").split())
    return _CANNOT_FEEL.search(plain) is not None


def feels_less(text: str) -> bool | None:
    """Her typed words as the answer to the question: less, as always, or None for neither of them."""
    plain = _plain(text)
    return True if plain in _LESS else False if plain in _AS_ALWAYS else None


def names_it(text: str) -> bool:
    """Whether her typed answer can be about nothing but the question: it says less, numb, feel or always."""
    return not _NAMES_IT.isdisjoint(_plain(text).split())


def _plain(text: str) -> str:
    return " ".join(_MARKS.sub("", text.casefold()).split())
