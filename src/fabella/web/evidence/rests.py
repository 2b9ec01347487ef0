"""What a number rests on, with the sources as things that can be opened."""

from __future__ import annotations

from dataclasses import dataclass

from fabella.evidence import RECALLED, Edition, Provenance, Source, Sourced
from fabella.evidence.plain import plain
from fabella.evidence.source import Footing


@dataclass(frozen=True, slots=True, kw_only=True)
class Rests:
    """Published, derived or judgement; the sources, or words where there are none; how it was worked out."""

    kind: str
    sources: tuple[Source, ...]
    words: str
    recalled: bool
    note: str


def rests_of(edition: Edition, row: Footing) -> Rests:
    """Return what a row of the model rests on."""
    sources = tuple(edition.source(key) for key in row.keys)
    return Rests(
        kind=row.provenance.value,
        sources=sources,
        words="" if sources else row.source,
        recalled=RECALLED in row.source,
        note=plain(edition, row.note),
    )


def rests_of_published(edition: Edition, row: Sourced, note: str = "") -> Rests:
    """Return what a row of the published tables rests on."""
    return Rests(
        kind=row.provenance.value,
        sources=(row.source,),
        words="",
        recalled=row.recalled,
        note=plain(edition, note),
    )


def told(text: str) -> Rests:
    """Return what a sentence such as ``published: …`` or ``judgement: …`` says that something rests on."""
    kind, _, words = text.partition(": ")
    if kind not in set(Provenance):
        kind, words = Provenance.JUDGEMENT.value, text
    return Rests(kind=kind, sources=(), words=words, recalled="from memory" in words, note="")
