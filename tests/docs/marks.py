"""Markdown from plain values."""

from collections.abc import Iterable, Sequence


def cell(text: str) -> str:
    """A text that stays in one cell of a table."""
    return " ".join(text.split()).replace("|", "\\|") or " "


def table(headings: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table; the cells may hold Markdown."""
    lines = [headings, ["---"] * len(headings), *rows]
    return "\n".join(f"| {' | '.join(cell(one) for one in line)} |" for line in lines)


def code(text: str) -> str:
    """A text as code, nothing for nothing."""
    return f"`{text}`" if text else ""


def plain(text: str) -> str:
    """A text that Markdown leaves as it is."""
    return text.replace("<", "&lt;").replace("*", "\\*").replace("_", "\\_")
