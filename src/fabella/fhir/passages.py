"""The letter's own words as XHTML and as plain lines, section by section; nothing is added or dropped."""

from __future__ import annotations

from collections.abc import Iterator

from fabella.fhir.elements import escaped
from fabella.report import Document
from fabella.report.document import Bars, Block, Paragraph, Points, Section, Table

_BAR_HEADS = ("Lesion", "How likely", "Probability", "90% interval")


def head(document: Document) -> Iterator[str]:
    """Yield what stands round the sections of a letter: its head, its caution, its small print."""
    to = f"To: {document.addressee}" if document.addressee else ""
    yield _paragraph(document.title, firm=True)
    ends = (document.close, document.signature, document.foot)
    for line in (document.standing, document.date, to, *document.opening, *ends):
        if line:
            yield _paragraph(line, firm=line == document.standing)


def xhtml(section: Section) -> Iterator[str]:
    """Yield the blocks of a section as XHTML; its heading stands as the section's title."""
    for block in section.blocks:
        yield _xhtml(block)


def lines(section: Section) -> Iterator[str]:
    """Yield the blocks of a section as plain lines, tables of numbers left out."""
    for block in section.blocks:
        if isinstance(block, Points):
            yield from block.texts
        elif not isinstance(block, Table):
            yield f"{block.label}: {block.text}" if block.label else block.text


def _xhtml(block: Block) -> str:
    if isinstance(block, Paragraph):
        return _paragraph(block.text, label=block.label, firm=block.weighty)
    if isinstance(block, Points):
        return f"<ul>{''.join(f'<li>{escaped(text)}</li>' for text in block.texts)}</ul>"
    if isinstance(block, Bars):
        rows = tuple((row.name, row.word, row.percent, row.interval) for row in block.rows)
        return _paragraph(block.text, label=block.label) + _table(block.label, _BAR_HEADS, rows)
    return _table(block.caption, block.header, block.rows)


def _paragraph(text: str, *, label: str = "", firm: bool = False) -> str:
    said = f"<b>{escaped(text)}</b>" if firm else escaped(text)
    return f"<p><b>{escaped(label)}:</b> {said}</p>" if label else f"<p>{said}</p>"


def _table(caption: str, header: tuple[str, ...], rows: tuple[tuple[str, ...], ...]) -> str:
    heads = "".join(f"<th>{escaped(each)}</th>" for each in header)
    body = "".join(f"<tr>{''.join(f'<td>{escaped(cell)}</td>' for cell in row)}</tr>" for row in rows)
    return (
        f"<table><caption>{escaped(caption)}</caption><thead><tr>{heads}</tr></thead>"
        f"<tbody>{body}</tbody></table>"
    )
