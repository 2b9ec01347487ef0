"""The debrief of a practice patient as a page in the terminal."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import RenderableType

from fabella.cli.drawing import heading, labelled, paragraph
from fabella.cli.words import Words
from fabella.report.wording import NO_BREAK, sentence
from fabella.teach import Cards, Debrief
from fabella.teach.debrief_words import (
    FALSE_ALARMS,
    StepWords,
    believed_steps,
    conduct_lines,
    hurt_lines,
    ideal_steps,
    knee_words,
    left_out_lines,
    missed_lines,
    unchecked_lines,
    worth_lines,
)
from fabella.teach.upshot import upshot_lines
from fabella.teach.wording import CAUTION, clock_words, lesson_words, rarity_words, slip_words

_WHO = {"student": "you", "findings": "the model on your findings", "ideal": "the ideal examiner"}


def debrief_page(debrief: Debrief, words: Words) -> Iterator[RenderableType]:
    """Yield the page part by part."""
    yield heading("What it was")
    yield labelled((f"{side} knee", knee_words(debrief, side)) for side in debrief.present)
    if debrief.rarest is not None:
        yield paragraph(rarity_words(debrief.rarest))
    yield ""
    yield heading("One thing to practise next")
    yield paragraph(lesson_words(debrief.lesson, protocol=words.protocol), style="bold")
    yield ""
    yield from _conduct(debrief)
    yield from _gaps(debrief)
    yield from _findings(debrief, words)
    yield from _beliefs(debrief)
    yield from _ideal(debrief)
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


def _conduct(debrief: Debrief) -> Iterator[RenderableType]:
    yield heading(f"How it was done, in {clock_words(debrief.seconds)} minutes")
    for kept, mark in ((True, "+"), (False, "-")):
        for line in conduct_lines(debrief, kept=kept):
            yield paragraph(line, mark=mark)
    for line in hurt_lines(debrief):
        yield paragraph(line, mark="!")
    yield ""


def _gaps(debrief: Debrief) -> Iterator[RenderableType]:
    for title, mark, lines in (
        ("What cannot wait, and was missed", "!", missed_lines(debrief, true=True)),
        ("What has to be examined in such a knee, and was not", "!", unchecked_lines(debrief)),
        (FALSE_ALARMS, "·", missed_lines(debrief, true=False)),
        ("Left out, and worth most with this patient", "·", left_out_lines(debrief)),
    ):
        if told := tuple(lines):
            yield heading(title)
            for line in told:
                yield paragraph(line.replace(NO_BREAK, " "), mark=mark)
            yield ""


def _findings(debrief: Debrief, words: Words) -> Iterator[RenderableType]:
    if debrief.misread:
        yield heading("Recorded otherwise than it was")
        for slip in debrief.misread:
            yield paragraph(sentence(slip_words(slip, protocol=words.protocol)), mark="·")
        yield ""
    for lesion, reasons in worth_lines(debrief):
        yield heading(f"What your findings were worth for {lesion}")
        yield labelled((f"{bits} bits", sign) for bits, sign in reasons)
        yield ""


def _beliefs(debrief: Debrief) -> Iterator[RenderableType]:
    yield heading("Step by step: what could be believed, and what you believed")
    yield labelled((step.clock, _step(step)) for step in believed_steps(debrief))
    yield ""
    yield heading("How good the differential was (0 is best)")
    for line in upshot_lines(debrief):
        yield paragraph(line)
    yield labelled(
        (_WHO[who], f"Brier {each.brier:.2f}, log score {each.log:.1f} bits")
        for who, each in debrief.scores.items()
    )
    yield ""


def _ideal(debrief: Debrief) -> Iterator[RenderableType]:
    yield heading(
        f"What would have told most, minute by minute (done at {clock_words(debrief.ideal_seconds)})"
    )
    yield labelled((step.clock, _step(step)) for step in ideal_steps(debrief))
    yield ""


def _step(step: StepWords) -> str:
    return f"{step.what}: {step.chances}" + (f" | you: {step.believed}" if step.believed else "")
