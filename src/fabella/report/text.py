"""A page as plain text, for mail and for reading aloud."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from fabella.report.document import Block, Document, Paragraph, Points, Section, Table
from fabella.report.wording import NO_BREAK

WIDTH = 92
"""Characters in a line."""


def as_text(document: Document) -> str:
    """Return a page as plain text with lines of at most 92 characters; figures are left to the PDF."""
    head = [document.date, *([f"To: {document.addressee}"] if document.addressee else [])]
    parts = [
        "\n".join(document.sender),
        "\n".join(head),
        document.title.upper(),
        *([document.standing.upper()] if document.standing else []),
        "\n".join(map(_filled, document.opening)),
        *(text for section in document.sections if (text := _section(section))),
        _filled(document.close),
        _filled(document.signature),
        _filled(document.foot),
    ]
    return "\n\n".join(filter(None, parts)).replace(NO_BREAK, " ") + "\n"


def _section(section: Section) -> str:
    lines = [line for block in section.blocks for line in _block(block)]
    return "\n".join([section.heading.upper(), *lines]) if lines else ""


def _block(block: Block) -> Iterator[str]:
    if isinstance(block, Paragraph):
        yield _filled(f"{block.label}: {block.text}" if block.label else block.text)
    elif isinstance(block, Points):
        yield from (_filled(f"- {text}") for text in block.texts)
    elif isinstance(block, Table):
        yield from _table(block)
    else:
        yield _filled(f"{block.label}: {block.text}")


def _table(table: Table) -> Iterator[str]:
    rows = (table.header, *table.rows)
    widths = [max(len(row[column]) for row in rows) for column in range(len(table.header))]
    for row in rows:
        yield "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()


def _filled(text: str) -> str:
    return textwrap.fill(text, WIDTH, subsequent_indent="  ", break_long_words=False, break_on_hyphens=False)
