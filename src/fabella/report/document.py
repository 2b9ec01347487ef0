"""A page before it is rendered: sections of paragraphs, tables and figures, the same for text and PDF."""

from __future__ import annotations

from dataclasses import asdict, dataclass, fields
from typing import Any, Final

LAYOUT: Final = 4
"""How pages are arranged now; what was signed keeps the arrangement that it was signed with."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Paragraph:
    """A paragraph, with a label that hangs beside it or none.

    ``id`` names it among the passages that can be put in other words; empty: it cannot.
    """

    text: str
    label: str = ""
    weighty: bool = False
    """Whether it must catch the eye."""
    id: str = ""
    firm: bool = False
    """Whether it may be put otherwise, or left out, only for a reason: it must not be missed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Points:
    """A list of short sentences; ``id`` and ``firm`` as of a paragraph."""

    texts: tuple[str, ...]
    id: str = ""
    firm: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A plain table with a header row; ``caption`` says what it holds."""

    caption: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """One row of a table of probabilities: words, and the numbers from which its bar is drawn (0 to 1)."""

    name: str
    word: str
    percent: str
    interval: str
    probability: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Bars:
    """A table of probabilities with a bar in each row; ``text`` says the same where no table can be drawn."""

    label: str
    text: str
    rows: tuple[Bar, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A drawing with its size, the words that stand for it, and a line to be read below it or none."""

    svg: str
    width_mm: float
    height_mm: float
    alt: str
    caption: str = ""


Block = Paragraph | Points | Table | Bars
_BLOCKS = {each.__name__: each for each in (Paragraph, Points, Table, Bars)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A heading and what stands below it; an urgent one is set apart. Its passages' ids begin with its."""

    heading: str
    blocks: tuple[Block, ...]
    urgent: bool = False
    id: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """A whole letter or page.

    Parameters
    ----------
    title
        What it is; also the title of the file.
    date, addressee
        As written at its head; the addressee may be empty.
    standing
        A line in bold that says what the page must not be taken for; empty in a clinical letter.
    opening
        Lines about the patient and the examination.
    sections
        What it says, in order; empty ones are not given.
    close, foot
        The last sentence, and the small print.
    figure
        A drawing at the end, or None.
    large
        Whether it is set in larger type, for a patient to read.
    signature
        Below the last sentence, by whom and when it was signed; empty before that, and in what was kept
        before it stood there.
    sender
        Name and address lines at its head; none by default.
    layout
        How it is arranged on paper (`LAYOUT`): 1 as first; 2 when the last section went along with a drawing
        to the next sheet; 3 since every sheet says whose it is, so that the text stays where it has room; 4
        since a letter whose drawing would only just miss the sheet is set closer.
    """

    title: str
    date: str
    addressee: str
    standing: str
    opening: tuple[str, ...]
    sections: tuple[Section, ...]
    close: str
    foot: str
    figure: Figure | None
    large: bool = False
    signature: str = ""
    sender: tuple[str, ...] = ()
    layout: int = 1


def document_tree(document: Document) -> dict[str, Any]:
    """Return a page as plain data, each block with its kind."""
    sections = [
        {
            **asdict(section),
            "blocks": [{"kind": type(block).__name__, **asdict(block)} for block in section.blocks],
        }
        for section in document.sections
    ]
    return {**asdict(document), "sections": sections}


def document_of(tree: dict[str, Any]) -> Document:
    """Return the page that `document_tree` made plain data of, as far as this program knows its parts."""
    sections = tuple(
        Section(**_known(Section, {**each, "blocks": tuple(_block(block) for block in each["blocks"])}))
        for each in tree["sections"]
    )
    figure = None if tree["figure"] is None else Figure(**_known(Figure, tree["figure"]))
    lines = {name: tuple(tree.get(name, ())) for name in ("opening", "sender")}
    return Document(**_known(Document, {**tree, **lines, "sections": sections, "figure": figure}))


def _block(tree: dict[str, Any]) -> Block:
    told = {name: _frozen(value) for name, value in tree.items() if name != "kind"}
    if tree["kind"] == Bars.__name__:
        told["rows"] = tuple(Bar(**_known(Bar, row)) for row in tree["rows"])
    kind = _BLOCKS[tree["kind"]]
    made: Block = kind(**_known(kind, told))
    return made


def _known(kind: type[Any], tree: dict[str, Any]) -> dict[str, Any]:
    """Return what this program still knows of what an earlier one kept."""
    names = {each.name for each in fields(kind)}
    return {name: value for name, value in tree.items() if name in names}


def _frozen(value: Any) -> Any:
    return tuple(map(_frozen, value)) if isinstance(value, list) else value
