"""Markdown: texts from a file shown as they are, lists, boxes to tick, and tables."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

ESCAPED = str.maketrans({char: f"\\{char}" for char in "\\`*_[]<>#|~$&"})


def plain(text: str) -> str:
    """Write a text from a file so that Markdown shows it as it is, on one line."""
    return " ".join(text.split()).translate(ESCAPED)


def boxes(title: str, texts: Iterable[str]) -> Iterator[str]:
    """Write a list with a box to tick for each text; nothing for none."""
    yield from block(title, [f"- [ ] {text}" for text in texts])


def bullets(title: str, texts: Iterable[str]) -> Iterator[str]:
    """Write a plain list; nothing for no text."""
    yield from block(title, [f"- {text}" for text in texts])


def block(title: str, lines: Sequence[str]) -> Iterator[str]:
    """Write lines under a heading; nothing for none."""
    if lines:
        yield from (f"### {title}", "", *lines, "")


def table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> Iterator[str]:
    """Write a table."""
    yield "| " + " | ".join(heads) + " |"
    yield "|" + " --- |" * len(heads)
    for row in rows:
        yield "| " + " | ".join(row) + " |"
