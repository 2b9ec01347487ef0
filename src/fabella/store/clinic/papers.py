"""Letter and patient's page: as computed, in the clinician's own words, and packed to be kept."""

from __future__ import annotations

import json
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from types import MappingProxyType
from typing import Any

from fabella.errors import Problem
from fabella.record import Examination, Part, Passage, Sheet, Writing, parts_of_name
from fabella.report import (
    Document,
    Placed,
    as_text,
    build_letter,
    build_summary,
    in_own_words,
    letter_document,
    placed,
    summary_document,
)
from fabella.report.document import Block, Section, document_of, document_tree
from fabella.report.passages import Own
from fabella.workup import Workup

NOBODYS: Own = MappingProxyType({})


@dataclass(frozen=True, slots=True, kw_only=True)
class FairPaper:
    """A letter or patient's page written out: ``computed`` is the program's, ``document`` what is signed.

    ``signature`` is the line that says who signed it and when, empty before; ``sender`` its letterhead.
    """

    writing: Writing
    written_on: date
    identity: str
    computed: Document
    own: Own
    signature: str = ""
    sender: tuple[str, ...] = ()

    @property
    def document(self) -> Document:
        """The page with every passage in somebody's own words in its place."""
        words = in_own_words(self.computed, self.own)
        return replace(words, signature=self.signature, sender=self.sender)

    @property
    def text(self) -> str:
        """The page as plain text."""
        return as_text(self.document)

    @property
    def sections(self) -> tuple[tuple[Section, tuple[Block | Placed, ...]], ...]:
        """The sections with every passage that can be put in other words."""
        return placed(self.computed, self.own)

    def problems(self) -> Iterator[Problem]:
        """Yield what has to be settled before it can be signed."""
        for section, blocks in self.sections:
            for each in blocks:
                if not isinstance(each, Placed):
                    continue
                place = f"{_NAMES[self.writing]}, {each.label or section.heading}"
                if each.is_stale:
                    says = "was put in other words before the program changed what it says there"
                    yield Problem(place=place, says=says, remedy="read both on its page, and keep one")
                elif each.needs_reason:
                    says = "must not be missed, and is no longer said in these words"
                    yield Problem(place=place, says=says, remedy="say why, or take it back")


_NAMES = {Writing.LETTER: "letter", Writing.SUMMARY: "patient's page"}


def own_words(sheet: Sheet, writing: Writing) -> dict[str, Passage]:
    """Return the passages of a document that somebody put in their own words, by their ids."""
    return {passage: stated for passage, stated, _ in _stated(sheet, writing)}


def writers_of(sheet: Sheet, writing: Writing) -> dict[str, str]:
    """Return who last wrote each of those passages."""
    return {passage: author for passage, _, author in _stated(sheet, writing)}


def _stated(sheet: Sheet, writing: Writing) -> Iterator[tuple[str, Passage, str]]:
    for key, stated in sheet.stated.items():
        if key.part is Part.PASSAGE and isinstance(stated.value, Passage):
            document, passage = parts_of_name(key.name)
            if document is writing:
                yield passage, stated.value, stated.writer.author


def paper(
    writing: Writing,
    workup: Workup,
    *,
    written_on: date,
    identity: str,
    earlier: Sequence[Workup | Examination] = (),
    own: Own = NOBODYS,
    addressee: str = "",
) -> FairPaper:
    """Return the letter or patient's page about a workup; ``identity`` tells the patient from all others.

    It says what has changed since ``earlier`` visits of the same patient.
    """
    if writing is Writing.LETTER:
        letter = build_letter(
            workup, written_on=written_on, addressee=addressee, identity=identity, earlier=earlier
        )
        computed = letter_document(letter)
    else:
        page = build_summary(workup, written_on=written_on, identity=identity, earlier=earlier)
        computed = summary_document(page)
    return FairPaper(writing=writing, written_on=written_on, identity=identity, computed=computed, own=own)


def packed(document: Document, **more: object) -> bytes:
    """Return a page, and what else is to be kept with it, in as little room as it takes."""
    tree = {"document": document_tree(document), **more}
    return zlib.compress(json.dumps(tree, ensure_ascii=False, sort_keys=True).encode(), level=9)


def unpacked(page: bytes) -> tuple[Document, dict[str, Any]]:
    """Return what `packed` packed."""
    tree = json.loads(zlib.decompress(page))
    return document_of(tree.pop("document")), tree
