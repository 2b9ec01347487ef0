"""Letter and patient's page as they were signed, read again."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date
from typing import Any

from fabella.record import Passage, Writing
from fabella.report import Document, as_pdf
from fabella.store.clinic import models
from fabella.store.clinic.concluded import Concluded, concluded_from
from fabella.store.clinic.papers import unpacked
from fabella.store.kept import reading_kept


@dataclass(frozen=True, slots=True, kw_only=True)
class Reworded:
    """A passage that was signed in somebody's own words, by whose account it was written."""

    passage: str
    author: str
    own: Passage


@dataclass(frozen=True, slots=True, kw_only=True)
class SignedPaper:
    """A letter or patient's page as it was signed.

    ``text`` is what was signed, ``computed`` what the program had said, ``document`` the page to be drawn,
    ``identity`` by what it told the patient from all others, empty before that stood there;
    ``pdf_sha256`` is the hash of the PDF that the program drew of it then; ``earlier`` are the files of the
    earlier visits that the letter was held against, none before it was held against any.
    """

    writing: Writing
    written_on: date
    text: str
    computed: str
    identity: str
    reworded: tuple[Reworded, ...]
    document: Document
    pdf_sha256: str
    concluded: Concluded | None
    earlier: tuple[str, ...] = ()

    @property
    def plate(self) -> str:
        """The drawing of both knees on it, as SVG; empty for none."""
        return self.document.figure.svg if self.document.figure else ""

    @property
    def pdf(self) -> bytes:
        """The page as PDF, drawn again from what was kept: its words cannot differ from what was signed."""
        return as_pdf(self.document, written_on=self.written_on)


def signed_papers(signature: models.Signature) -> tuple[SignedPaper, ...]:
    """Return the papers of a signature, the letter first; none for one from before they were kept."""
    rows = models.Paper.objects.filter(signature=signature).order_by("kind")
    with reading_kept(f"A signed page of visit {signature.visit_id}"):
        return tuple(map(_read, rows))


def _read(row: models.Paper) -> SignedPaper:
    document, more = unpacked(bytes(row.page))
    concluded = more.get("concluded")
    return SignedPaper(
        writing=Writing(row.kind),
        written_on=row.written_on,
        text=row.text,
        computed=row.computed,
        identity=more.get("identity", ""),
        reworded=tuple(
            Reworded(
                passage=each["passage"],
                author=each["author"],
                own=Passage(text=each["text"], computed=each["computed"], reason=each["reason"]),
            )
            for each in json.loads(row.passages)
        ),
        document=document,
        pdf_sha256=row.pdf_sha256,
        concluded=None if concluded is None else _concluded(concluded),
        earlier=tuple(more.get("earlier", ())),
    )


def _concluded(tree: dict[str, Any]) -> Concluded | None:
    """Return a conclusion, or None where a later program has other names for its parts; the letter has it."""
    try:
        return concluded_from(tree)
    except (KeyError, TypeError, ValueError):
        return None
