"""The patient's page, ready to be rendered."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable

from fabella.anatomy import Side
from fabella.report.document import LAYOUT, Document, Figure, Paragraph, Points, Section
from fabella.report.for_parents import voice
from fabella.report.plain_changes import PlainChanges
from fabella.report.plate import build_plain_plate, render_plate
from fabella.report.summary import SummaryContext
from fabella.report.wording import NO_BREAK, sentence, written_date

FACING = "Your knees, as we see them when we face you."
MARKED = f"{FACING} The marks show where we found something."
"""Below the drawing of the patient's page, the second where it has marks."""


def summary_document(summary: SummaryContext, *, drawn: bool = True) -> Document:
    """Return the patient's page to be rendered; ``drawn`` adds the plate, for which text has no use."""
    say = voice(parents=summary.parents)
    findings = [
        Paragraph(id=f"found-{side}", label=say(f"Your {side} knee"), text=" ".join(map(sentence, sentences)))
        for side, sentences in summary.found
    ]
    sections = (
        Section(id="urgent", heading="Please do not wait", blocks=_urgent(summary.urgent), urgent=True),
        Section(id="checks", heading="Please do not go yet", blocks=_checks(summary), urgent=True),
        Section(id="looked", heading="What we looked for", blocks=_told("looked-for", summary.looked_for)),
        Section(id="found", heading="What we found", blocks=tuple(findings)),
        *_since(summary.since, say),
        Section(
            id="may",
            heading="What it may mean",
            blocks=(Points(id="may-mean", texts=tuple(map(_unparted, summary.may_mean))),),
        ),
        Section(id="comes", heading="What happens next", blocks=_told("comes-next", summary.comes_next)),
        Section(
            id="come",
            heading="Come at once if",
            blocks=(Points(id="come-at-once", texts=summary.come_at_once, firm=True),),
        ),
    )
    return Document(
        title=say("Your knees"),
        date=written_date(summary.written_on),
        addressee="",
        standing=summary.standing,
        opening=(f"For {summary.patient}",) if summary.patient else (),
        sections=tuple(section for section in sections if section.blocks),
        close=summary.caution,
        foot=summary.foot,
        figure=_plate(summary) if drawn and any(map(summary.readings.examined, Side)) else None,
        large=True,
        layout=LAYOUT,
    )


def _plate(summary: SummaryContext) -> Figure:
    """Both knees with marks and no names; whoever cannot see it is told what was found."""
    say = voice(parents=summary.parents)
    found = (f"Your {side} knee: {' '.join(map(sentence, told))}" for side, told in summary.found)
    alt = say(f"Your knees from the front. {' '.join(found)}")
    plate = build_plain_plate(summary.readings, description=alt, say=say)
    has_marks = any(knee.marks or knee.insets for knee in plate.knees)
    return Figure(
        svg=render_plate(plate, ident="own-plate"),
        width_mm=plate.width_mm,
        height_mm=plate.height_mm,
        alt=alt,
        caption=say(MARKED if has_marks else FACING),
    )


def _since(changes: PlainChanges | None, say: Callable[[str], str]) -> tuple[Section, ...]:
    if changes is None:
        return ()
    heading = say(f"Since we saw you on {written_date(changes.day)}")
    return (Section(id="since", heading=heading, blocks=_told("since-told", changes.told)),)


def _told(name: str, texts: tuple[str, ...]) -> tuple[Paragraph, ...]:
    return (Paragraph(id=name, text=" ".join(texts)),)


def _checks(summary: SummaryContext) -> tuple[Paragraph, ...]:
    text = summary.checked_first
    return (Paragraph(id="checks-first", text=text, weighty=True),) if text else ()


def _unparted(text: str) -> str:
    """Return a text whose "(about 6 in 10)" stands in one line."""
    return re.sub(r"\([^()]* in 10\)", lambda said: said[0].replace(" ", NO_BREAK), text)


def _urgent(texts: tuple[str, ...]) -> tuple[Paragraph, ...]:
    """What cannot wait; each is named by its words, since several rules may share them."""
    named = ((hashlib.sha256(text.encode()).hexdigest()[:8], text) for text in texts)
    return tuple(Paragraph(id=f"urgent-{name}", text=text, weighty=True, firm=True) for name, text in named)
