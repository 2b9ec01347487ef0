"""The debrief of a practice patient as a page in the terminal."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import RenderableType

from fabella.cli.drawing import heading, labelled, paragraph
from fabella.cli.words import Words
from fabella.report.likelihood_words import percentage
from fabella.report.wording import listed, sentence
from fabella.teach import Cards, Debrief
from fabella.teach.wording import (
    CAUTION,
    bits_words,
    conduct_words,
    lesion_words,
    lesson_words,
    rarity_words,
    share_words,
    slip_words,
)

_SHOWN = 6
_DEGREES = ("did not hurt", "hurt a little", "hurt", "hurt too much")
_WHO = {"student": "you", "findings": "the model on your findings", "ideal": "the ideal examiner"}


def debrief_page(debrief: Debrief, words: Words) -> Iterator[RenderableType]:
    """Yield the page part by part."""
    yield heading("What it was")
    yield labelled((f"{side} knee", _lesions(debrief, side)) for side in debrief.present)
    if debrief.rarest is not None:
        yield paragraph(rarity_words(debrief.rarest))
    yield ""
    yield heading("One thing to practise next")
    yield paragraph(lesson_words(debrief.lesson, protocol=words.protocol), style="bold")
    yield ""
    yield from _conduct(debrief, words)
    yield from _gaps(debrief, words)
    yield from _findings(debrief, words)
    yield from _beliefs(debrief, words)
    yield from _ideal(debrief, words)
    yield paragraph(f"Evidence {debrief.workup.edition}. {CAUTION}", indent=0, style="dim")


def cards_page(cards: Cards) -> Iterator[RenderableType]:
    """Yield the cards of the one who examines, the one who plays, and the one who marks."""
    yield heading("For everybody")
    yield paragraph(cards.door)
    yield ""
    yield heading("For the one who plays")
    for question, answer in (*cards.story, *cards.answers):
        yield labelled([("asked", question), ("say", answer)], gap=1)
    yield paragraph("To any other question the answer is no.")
    yield ""
    for line in cards.acting:
        yield paragraph(line, mark="·")
    for what, how in cards.hurts:
        yield paragraph(f"{what} hurts {how}.", mark="·")
    yield paragraph("Nothing else hurts. Stop whatever really hurts you.", style="bold")
    yield ""
    yield heading("For the one who marks, and tells what is found")
    for line in (*cards.lesions, "", *cards.findings):
        yield paragraph(line)
    yield paragraph("Everything else is normal.")
    yield ""
    yield paragraph(CAUTION, indent=0, style="dim")


def clock(seconds: float) -> str:
    """Return seconds as minutes and seconds, ``3:07``."""
    return f"{int(seconds) // 60}:{int(seconds) % 60:02d}"


def _lesions(debrief: Debrief, side: object) -> str:
    lesions = next(each for own, each in debrief.present.items() if own == side)
    if not lesions:
        return "nothing that the model lists"
    return listed([lesion_words(lesion, level) for lesion, level in lesions])


def _conduct(debrief: Debrief, words: Words) -> Iterator[RenderableType]:
    yield heading(f"How it was done, in {clock(debrief.seconds)} minutes")
    for kept, mark in ((True, "+"), (False, "-")):
        for check in debrief.conduct:
            if check.kept is kept:
                said = " ".join(filter(None, (conduct_words(check), share_words(check))))
                yield paragraph(said, mark=mark)
    for hurt in debrief.hurts:
        why = [each.name for each in words.protocol.contraindications if each.id in hurt.forbidden]
        known = (
            "" if not why else f"; {listed(why)}" + ("" if hurt.known else ", which could not be known yet")
        )
        name = words.protocol.sign(hurt.sign).name
        yield paragraph(f"{clock(hurt.at_s)} {name}, {hurt.side}: {_DEGREES[hurt.degree]}{known}.", mark="!")
    yield ""


def _gaps(debrief: Debrief, words: Words) -> Iterator[RenderableType]:
    for true, title in (
        (True, "What cannot wait, and was missed"),
        (False, "False alarms that were not raised"),
    ):
        missed = [each for each in debrief.missed if each.true is true]
        if missed:
            yield heading(title)
            for each in missed:
                because = "; ".join(criterion.words for criterion in each.alarm.met)
                yield paragraph(f"{each.alarm.name}: {because}.", mark="!" if true else "·")
            yield ""
    if debrief.left_out:
        yield heading("Left out, and worth most with this patient")
        for out in debrief.left_out[:_SHOWN]:
            moved = f"{words.lesion(out.lesion)} {percentage(out.now)} → {percentage(out.then)}"
            would = f" would have been {words.outcome(out.sign, out.would)}:" if out.would else ""
            name = words.protocol.sign(out.sign).name
            yield paragraph(f"{name} ({out.bits:.2f} bits, {out.seconds} s){would} {moved}", mark="·")
        yield ""


def _findings(debrief: Debrief, words: Words) -> Iterator[RenderableType]:
    if debrief.misread:
        yield heading("Recorded otherwise than it was")
        for slip in debrief.misread:
            yield paragraph(sentence(slip_words(slip, protocol=words.protocol)), mark="·")
        yield ""
    for lesion, reasons in debrief.worth.items():
        if reasons:
            yield heading(f"What your findings were worth for {words.lesion(lesion)}")
            yield labelled(
                (f"{bits_words(reason.weight_bits)} bits", words.sign(reason.sign))
                for reason in reasons[:_SHOWN]
            )
            yield ""


def _beliefs(debrief: Debrief, words: Words) -> Iterator[RenderableType]:
    yield heading("Step by step: what could be believed, and what you believed")
    last = None
    for moment in debrief.moments:
        chances = ", ".join(
            f"{words.lesion(lesion)} {percentage(p)}"
            for lesion, p in sorted(moment.chances.items(), key=lambda each: -each[1])[:3]
        )
        said = ", ".join(f"{words.lesion(lesion)} {p:.0%}" for lesion, p in moment.believed.items())
        if chances != last or moment.sign is None:
            name = (
                words.sign(moment.sign) if moment.sign else ("at the door" if not moment.at_s else "you said")
            )
            beside = f" | you: {said}" if said else ""
            yield labelled([(clock(moment.at_s), f"{name}: {chances}{beside}")])
        last = chances
    yield ""
    yield heading("How good the differential was (0 is best)")
    yield labelled(
        (_WHO[who], f"Brier {each.brier:.2f}, log score {each.log:.1f} bits")
        for who, each in debrief.scores.items()
    )
    yield ""


def _ideal(debrief: Debrief, words: Words) -> Iterator[RenderableType]:
    yield heading(f"What would have told most, minute by minute (done at {clock(debrief.ideal_seconds)})")
    present = [lesion for lesions in debrief.present.values() for lesion, _ in lesions]
    for step in debrief.ideal:
        shown = {lesion: p for lesion, p in step.chances.items() if lesion in present} or step.chances
        top = ", ".join(f"{words.lesion(lesion)} {percentage(p)}" for lesion, p in list(shown.items())[:2])
        yield labelled([(clock(step.at_s), f"{words.sign(step.sign)}: {top}")])
    yield ""
