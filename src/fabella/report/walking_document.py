"""A measured walk as a page: its numbers in two tables, what was left out, and the drawing."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from fabella.measure.walking import Walking
from fabella.report import walking_words as words
from fabella.report.document import LAYOUT, Document, Paragraph, Points, Section, Table
from fabella.report.walking_chart import walk_figure
from fabella.report.wording import sentence


def walk_document(walking: Walking, *, made_on: date) -> Document:
    """Return the page of a measured walk, made on a day."""
    return Document(
        title="A walk, measured",
        date=made_on.isoformat(),
        addressee="",
        standing="",
        opening=(f"{sentence(words.timed_words(walking))} Values with their standard error.",),
        sections=tuple(_sections(walking)),
        close="",
        foot=words.CAUTION,
        figure=walk_figure(walking),
        layout=LAYOUT,
    )


def _sections(walking: Walking) -> Iterator[Section]:
    whole = Table(
        caption="Of the whole walk", header=("Measured", "Value"), rows=tuple(words.person_rows(walking))
    )
    yield Section(heading="The walk", blocks=(whole,))
    sides = Table(
        caption="Right and left",
        header=("Measured", *words.HEADER[1:]),
        rows=tuple(tuple(each or "–" for each in row) for row in words.side_rows(walking)),
    )
    says = tuple(
        Paragraph(text=each) for each in (words.asymmetry_words(walking), *words.knee_words(walking))
    )
    yield Section(heading="Right and left", blocks=(sides, *says))
    if walking.told:
        yield Section(heading="Left out, and why", blocks=(Points(texts=walking.told),))
