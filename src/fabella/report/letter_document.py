"""The letter as a page: what cannot wait, history, findings, conclusion, plan."""

from __future__ import annotations

import functools
from collections.abc import Iterator, Sequence

from fabella.report.cannot_wait import (
    NOT_URGENT,
    NOW,
    PRESSING,
    ROUTINE,
    Matter,
    matters_of,
)
from fabella.report.conclusion_words import KneeWords, LesionWords
from fabella.report.document import LAYOUT, Bar, Bars, Block, Document, Figure, Paragraph, Section, Table
from fabella.report.findings import KneeFindings, LeftOut
from fabella.report.letter import LetterContext
from fabella.report.open_words import is_for_now, settled_first, settled_later
from fabella.report.plan_words import Plan
from fabella.report.plate import build_plate, render_plate
from fabella.report.since_sections import since_sections
from fabella.report.undone_words import LABEL as EARLIER_VISIT
from fabella.report.wording import listed, sentence, written_date


def letter_document(letter: LetterContext, *, drawn: bool = True) -> Document:
    """Return the letter as a page to be rendered; ``drawn`` adds the plate, which text has no use for."""
    matters = matters_of(letter.urgent)
    pressing = [each for each in matters if not each.can_wait]
    routine = [each for each in matters if each.can_wait]
    sections = (
        Section(id="urgent", heading="Cannot wait", blocks=tuple(_matters(pressing)), urgent=True),
        settled_first(letter.unsettled),
        Section(id="routine", heading=NOT_URGENT, blocks=tuple(_matters(routine))),
        Section(id="history", heading="History", blocks=tuple(_paragraphs("history-told", letter.history))),
        *since_sections(letter.since),
        Section(id="findings", heading="Findings", blocks=tuple(_findings(letter))),
        Section(id="imaging", heading="Imaging", blocks=tuple(_imaging(letter))),
        Section(id="conclusion", heading="Conclusion", blocks=tuple(_conclusion(letter))),
        Section(id="plan", heading="Plan", blocks=tuple(_plan(letter))),
    )
    return Document(
        title="Examination of both knees",
        date=written_date(letter.written_on),
        addressee=letter.addressee,
        standing=letter.standing,
        opening=tuple(filter(None, (f"{sentence(letter.patient)} {letter.examined}".strip(),))),
        sections=tuple(section for section in sections if section.blocks),
        close=letter.caution,
        foot=letter.foot,
        figure=_plate(letter) if drawn else None,
        layout=LAYOUT,
    )


def _paragraphs(name: str, text: str, label: str = "") -> Iterator[Paragraph]:
    if text:
        yield Paragraph(id=name, label=label, text=text)


def _matters(matters: Sequence[Matter]) -> Iterator[Paragraph]:
    """What must not be missed: where, how soon and what to do; then why, and who says so."""
    for matter in matters:
        told = matter.told
        name = f"urgent-{told.rule}-{told.where.partition(' ')[0].lower() or 'person'}"
        text = f"{sentence(told.name)} {sentence(told.action)}"
        yield Paragraph(id=name, label=told.place, text=text, weighty=not matter.can_wait, firm=True)
        yield Paragraph(id=f"{name}-why", text=_because(matter))


def _because(matter: Matter) -> str:
    """Why, by the criteria of every rule that is met for it, and the source of each."""
    also = "; ".join(f"{each.name} ({each.source})" for each in matter.also)
    parts = (
        sentence(f"because: {'; '.join(matter.because)}") if matter.because else "",
        sentence(f"source: {matter.told.source}"),
        sentence(f"also met: {also}") if also else "",
    )
    return " ".join(filter(None, parts))


def _findings(letter: LetterContext) -> Iterator[Block]:
    for knee in letter.knees:
        label = f"{knee.side.capitalize()} knee"
        yield Paragraph(id=f"findings-{knee.side}", label=label, text=knee_text(knee))
    if letter.both_normal:
        yield Paragraph(id="findings-both", label="Both knees", text=letter.both_normal)
    if letter.person:
        yield Paragraph(id="findings-person", label="In general", text=letter.person)
    yield from _left_out(letter.knees)
    if letter.measurements:
        yield Table(
            caption="Measurements",
            header=("Measurement", "Right", "Left", "Difference"),
            rows=tuple((row.name, row.right, row.left, row.difference) for row in letter.measurements),
        )


def knee_text(knee: KneeFindings) -> str:
    """Return everything found on one knee as running text."""
    if not knee.examined:
        return "Not examined."
    parts = [
        sentence("; ".join(knee.abnormal)),
        sentence("recorded: " + "; ".join(knee.recorded)) if knee.recorded else "",
        knee.normal,
        sentence("could not be tested: " + listed(knee.untested)) if knee.untested else "",
    ]
    return " ".join(filter(None, parts)) or "Nothing abnormal in what was examined."


def _left_out(knees: tuple[KneeFindings, ...]) -> Iterator[Paragraph]:
    """What was not examined, once where it is the same on both knees; then what is left of each."""
    told = []
    out = {knee.side: knee.left_out for knee in knees if knee.examined}
    if len(out) > 1:
        both = functools.reduce(LeftOut.shared, out.values())
        out = {side: each.without(both) for side, each in out.items()}
        told.append(both.words("on either side"))
    told += [each.words(f"{side} knee") for side, each in out.items()]
    yield from _paragraphs(
        "findings-not-examined", " ".join(map(sentence, filter(None, told))), "Not examined"
    )


def _imaging(letter: LetterContext) -> Iterator[Paragraph]:
    for each in letter.imaging:
        yield Paragraph(id=f"imaging-{each.side}-{each.image}", label=each.name, text=each.text)


def _conclusion(letter: LetterContext) -> Iterator[Block]:
    yield from _paragraphs("conclusion-none", letter.no_conclusion)
    for knee in letter.conclusions:
        name = f"conclusion-{knee.side}"
        yield _concluded(knee)
        for lesion in knee.lesions:
            label = f"{lesion.name[0].upper()}{lesion.name[1:]}"
            yield Paragraph(id=f"{name}-{lesion.lesion}", label=label, text=_why(lesion))
        if knee.fits_too:
            yield Paragraph(id=f"{name}-fits-too", label="What else fits", text=sentence(knee.fits_too))
        if knee.poor_fit:
            yield Paragraph(id=f"{name}-poor-fit", label="Poor fit", text=knee.poor_fit, weighty=True)
        if knee.look_again:
            yield Paragraph(id=f"{name}-look-again", label="Look again", text=knee.look_again, weighty=True)
        for each in letter.weigh_both:
            if each.side is knee.side:
                yield Paragraph(
                    id=f"{name}-{each.lesion}-both", label=EARLIER_VISIT, text=each.words, weighty=True
                )
    if letter.grounding:
        words = sentence(letter.grounding)
        yield Paragraph(id="conclusion-grounding", label="Evidence behind it", text=words)
    if letter.failures:
        yield Paragraph(label="Not worked out", text=sentence("; ".join(letter.failures)), weighty=True)


def weighed_both(document: Document) -> tuple[str, ...]:
    """Return what a letter says of lesions that an earlier visit told and its own does not, in its words."""
    return tuple(
        block.text
        for section in document.sections
        for block in section.blocks
        if isinstance(block, Paragraph) and block.label == EARLIER_VISIT and block.weighty
    )


def _concluded(knee: KneeWords) -> Block:
    label = f"{knee.side.capitalize()} knee"
    if not knee.lesions:
        return Paragraph(id=f"conclusion-{knee.side}", label=label, text=sentence(knee.verdict))
    return Bars(
        label=label,
        text=sentence(knee.verdict),
        rows=tuple(
            Bar(
                name=lesion.name,
                word=lesion.chance.word,
                percent=lesion.chance.percent,
                interval=lesion.chance.interval,
                probability=lesion.probability,
                low=lesion.low,
                high=lesion.high,
            )
            for lesion in knee.lesions
        ),
    )


def _why(lesion: LesionWords) -> str:
    """How likely each of its levels is, and the findings that weigh most."""
    parts = [
        sentence(lesion.levels),
        f"For: {'; '.join(lesion.pro)}." if lesion.pro else "",
        f"Against: {'; '.join(lesion.contra)}." if lesion.contra else "",
        "" if lesion.pro or lesion.contra else "No single finding decides.",
    ]
    return " ".join(filter(None, parts))


def _plan(letter: LetterContext) -> Iterator[Paragraph]:
    plan, soonest = letter.plan, {each.when for each in letter.urgent}
    # Beside what has to be done now, nobody wants to be asked about stairs.
    steps = () if NOW in soonest else tuple(filter(None, (plan.enough or plan.together, *plan.steps)))
    first, ordered = _first(letter), tuple(_ordered(plan))
    if first or ordered or steps:
        words = " ".join(map(sentence, filter(None, (first, *ordered, *steps))))
        yield Paragraph(id="plan-next", label="Next step", text=words)
    if plan.images and NOW not in soonest:
        yield Paragraph(id="plan-images", label="Images and tests", text=" ".join(map(sentence, plan.images)))
    if plan.withheld:
        yield Paragraph(id="plan-not-now", label="Not now", text=" ".join(map(sentence, plan.withheld)))
    yield from settled_later(letter.unsettled, letter.unsettled_more)


def _first(letter: LetterContext) -> str:
    """What comes before the plan, and where it stands; empty for nothing."""
    plan, soonest = letter.plan, {each.when for each in letter.urgent}
    alone = bool(soonest - {ROUTINE}) and not plan.first  # a referral, say, that no image stands for
    open_now = is_for_now(letter.unsettled)
    if soonest & set(PRESSING) or alone:
        return f"first what cannot wait{' and what is not excluded' if open_now else ''}, above"
    if plan.enough or not any(each.when in PRESSING for each in letter.unsettled):
        return ""
    return f"first what is not excluded, {'above' if open_now else 'below'}"


def _ordered(plan: Plan) -> Iterator[str]:
    """Yield the images that rules ask for, those of one rule together."""
    names: dict[str, list[str]] = {}
    for each in plan.first:
        names.setdefault(each.tells, []).append(each.name)
    for tells, named in names.items():
        yield f"{'; '.join(named)}: {tells}" if tells else "; ".join(named)


def _plate(letter: LetterContext) -> Figure:
    plate = build_plate(letter.readings)
    return Figure(
        svg=render_plate(plate),
        width_mm=plate.width_mm,
        height_mm=plate.height_mm,
        alt=f"{plate.title}. {plate.description}",
    )
