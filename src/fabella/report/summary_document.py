"""The patient's page, ready to be rendered."""

from __future__ import annotations

from fabella.report.document import Document, Paragraph, Points, Section
from fabella.report.letter import written_date
from fabella.report.summary import SummaryContext
from fabella.report.wording import sentence


def summary_document(summary: SummaryContext) -> Document:
    """Return the patient's page, ready to be rendered."""
    findings = [
        Paragraph(label=f"Your {side} knee", text=" ".join(map(sentence, sentences)))
        for side, sentences in summary.found
    ]
    sections = (
        Section(heading="Please do not wait", blocks=_plain(summary.urgent, weighty=True), urgent=True),
        Section(heading="What we looked for", blocks=_plain((" ".join(summary.looked_for),))),
        Section(heading="What we found", blocks=tuple(findings)),
        Section(heading="What it may mean", blocks=(Points(texts=summary.may_mean),)),
        Section(heading="What happens next", blocks=_plain((" ".join(summary.comes_next),))),
        Section(heading="Come at once if", blocks=(Points(texts=summary.come_at_once),)),
    )
    return Document(
        title="Your knees",
        date=written_date(summary.written_on),
        addressee="",
        standing=summary.standing,
        opening=(f"For {summary.patient}",) if summary.patient else (),
        sections=tuple(section for section in sections if section.blocks),
        close=summary.caution,
        foot=summary.foot,
        figure=None,
        large=True,
    )


def _plain(texts: tuple[str, ...], *, weighty: bool = False) -> tuple[Paragraph, ...]:
    return tuple(Paragraph(text=text, weighty=weighty) for text in texts)
