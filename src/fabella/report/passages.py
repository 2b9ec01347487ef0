"""A letter or page in somebody's own words: passage by passage, beside what the program says there."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from fabella.record import Passage
from fabella.report.document import Block, Document, Paragraph, Points, Section
from fabella.report.text import as_text

ADDRESSEE = "addressee"
"""The passage that names to whom a letter goes; the program says nothing there."""

OWN = "own"
"""Ends the id of what somebody adds at the end of a section; the program says nothing there."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A passage in its place.

    Parameters
    ----------
    id, label
        Its id in the document, and what stands before it; the label is never edited.
    computed
        What the program says there now, one line a paragraph or point; empty where it says nothing.
    own
        What somebody wrote there instead; None when nobody did.
    firm
        Whether it must not be missed, so that leaving it out, or saying it otherwise, needs a reason.
    unsaid
        The computed lines of a firm passage that stand nowhere in the document any more.
    """

    id: str
    label: str
    computed: str
    own: Passage | None
    firm: bool
    unsaid: tuple[str, ...] = ()

    @property
    def text(self) -> str:
        """What the document says there."""
        return self.computed if self.own is None else self.own.text

    @property
    def is_stale(self) -> bool:
        """Whether the program said something else when somebody put it in their own words."""
        return self.own is not None and self.own.computed != self.computed

    @property
    def is_left_out(self) -> bool:
        """Whether somebody left out what the program says."""
        return self.own is not None and not self.own.text and bool(self.computed)

    @property
    def is_added(self) -> bool:
        """Whether the program says nothing here."""
        return not self.computed

    @property
    def needs_reason(self) -> bool:
        """Whether what must not be missed is no longer said, and nobody has said why."""
        return bool(self.unsaid) and self.own is not None and not self.own.reason


Own = Mapping[str, Passage]
"""What somebody wrote instead, by the ids of the passages."""


def in_own_words(document: Document, own: Own) -> Document:
    """Return a document with what somebody wrote in place of what the program says.

    What was written for a passage that the program no longer has is kept, at the end of its section or of
    the last one. The small print counts the passages that are not the program's.
    """
    addressee = own[ADDRESSEE].text if ADDRESSEE in own else document.addressee
    written = {name: each for name, each in own.items() if name != ADDRESSEE}
    sections = []
    for section in document.sections:
        blocks = [made for block in section.blocks for made in _reworded(block, written)]
        blocks += [made for name in _added(document, section, written) for made in _paragraphs(written[name])]
        if blocks:
            sections.append(replace(section, blocks=tuple(blocks)))
    count = sum(1 for each in written.values() if each.text != each.computed)
    counted = f"{count} {'passage is' if count == 1 else 'passages are'} in the writer’s own words."
    return replace(
        document,
        addressee=addressee,
        sections=tuple(sections),
        foot=f"{document.foot} {counted}" if count else document.foot,
    )


def placed(document: Document, own: Own) -> tuple[tuple[Section, tuple[Block | Placed, ...]], ...]:
    """Return the sections of a computed document with every passage in its place, and its table and bars.

    Each section ends with a passage of its own, for what somebody wants to add.
    """
    whole = _spaced(as_text(in_own_words(document, own)))
    return tuple((section, tuple(_placed(document, section, own, whole))) for section in document.sections)


def _placed(document: Document, section: Section, own: Own, whole: str) -> Iterator[Block | Placed]:
    for block in section.blocks:
        if not isinstance(block, Paragraph | Points) or not block.id:
            yield block
            continue
        said, written = computed_text(block), own.get(block.id)
        lost = block.firm and written is not None
        yield Placed(
            id=block.id,
            label=block.label if isinstance(block, Paragraph) else "",
            computed=said,
            own=written,
            firm=block.firm,
            unsaid=tuple(line for line in said.split("\n") if lost and _spaced(line) not in whole),
        )
    for name in dict.fromkeys((*_added(document, section, own), f"{section.id}-{OWN}")):
        yield Placed(id=name, label="", computed="", own=own.get(name), firm=False)


def _added(document: Document, section: Section, own: Own) -> Iterator[str]:
    """Yield the passages that somebody wrote and that the program does not have, of this section."""
    there = {block.id for each in document.sections for block in each.blocks if isinstance(block, _TEXTS)}
    sections = [each.id for each in document.sections]
    for name in own:
        if name in there or name == ADDRESSEE:
            continue
        belongs = next((each for each in sections if name.startswith(f"{each}-")), sections[-1])
        if belongs == section.id:
            yield name


_TEXTS = (Paragraph, Points)


def computed_text(block: Paragraph | Points) -> str:
    """Return what a passage says, one line a point."""
    return block.text if isinstance(block, Paragraph) else "\n".join(block.texts)


def _reworded(block: Block, own: Own) -> Iterator[Block]:
    if not isinstance(block, Paragraph | Points) or block.id not in own:
        yield block
        return
    lines = tuple(filter(None, own[block.id].text.split("\n")))
    if isinstance(block, Points):
        if lines:
            yield replace(block, texts=lines)
        return
    for number, line in enumerate(lines):
        yield replace(block, text=line, label="" if number else block.label)


def _paragraphs(passage: Passage) -> Iterator[Paragraph]:
    return (Paragraph(text=line) for line in passage.text.split("\n") if line)


def _spaced(text: str) -> str:
    """Return a text with single spaces, as lines are broken elsewhere than words."""
    return " ".join(text.split()).casefold()
