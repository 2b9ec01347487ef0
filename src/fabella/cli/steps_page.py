"""What to do next, as a part of a page: at the bedside, images, and what must not be done now."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rich.console import RenderableType

from fabella.anatomy import Side
from fabella.cli.drawing import heading, labelled, paragraph
from fabella.cli.words import Words, cost_words
from fabella.report.answer import of_sides
from fabella.report.plan_words import (
    Sided,
    enough_words,
    grouped_by_reason,
    on_both,
    purpose,
    said_once,
    together_words,
)
from fabella.report.step_words import outcome_words, placed, step_words, taken_on_each
from fabella.report.wording import sentence
from fabella.stats.written import percentage
from fabella.workup import Advice, NextStep, Outlook, Withheld

FIRST_ONLY = "First what cannot wait, above; nothing else beside it."


def steps_block(
    advice: Advice, words: Words, *, sides: tuple[Side, ...], top: int, brief: bool = False
) -> Iterator[RenderableType]:
    """Yield the next steps: what met rules order, then the others, unless something has to be done now.

    Parameters
    ----------
    sides
        The knees to advise on.
    top
        How many steps at the bedside, and as many images.
    brief
        Of each step only the outcome that would move a lesion most, and of what is withheld the first few.
    """
    yield heading("What next")
    bedside = said_once(of_sides(advice.bedside, sides), words.lesions)[:top]
    first = said_once(of_sides(advice.first, sides), words.lesions)
    images = said_once(of_sides(advice.images, sides), words.lesions)[:top]
    if advice.first_only:
        yield paragraph(FIRST_ONLY, style="bold")
    elif advice.enough:
        yield paragraph(enough_words(advice), style="bold")
    elif together := together_words(advice):
        yield paragraph(together, style="bold")
    elif not bedside and not advice.deferred:
        yield paragraph("Nothing more at the bedside is known to tell anything.")
    for title, steps in (("First", first), ("At the bedside", bedside), ("Images", images)):
        if steps:
            yield paragraph(title, style="dim")
        for number, step in enumerate(steps, start=1):
            yield from _step(number, step, words, named=on_both(advice), brief=brief)
    yield from _withheld([each for each in advice.withheld if each.side in sides], brief=brief)


def _step(number: int, sided: Sided, words: Words, *, named: bool, brief: bool) -> Iterator[RenderableType]:
    step = sided.step
    name = placed(step, sided.where) if named else step_words(step)
    because = purpose(step, words.lesions)
    told = "" if because else f"{step.bits:.2f} bits, "
    cost = cost_words(step.minutes, step.hurts) + (
        " each" if len(sided.sides) > 1 and taken_on_each(step) else ""
    )
    yield paragraph(f"{name[:1].upper()}{name[1:]} ({told}{cost})", mark=f"{number}.")
    if because:
        yield paragraph(because, indent=5)
        return
    moving = sorted(step.outlooks, key=lambda each: -abs(each.then - each.now))
    shown = moving[:1] if brief else step.outlooks
    yield labelled((_outlook(step, each, words) for each in shown), indent=5)


def _outlook(step: NextStep, outlook: Outlook, words: Words) -> tuple[str, str]:
    return f"if {outcome_words(step, outlook.outcome)} ({percentage(outlook.chance)})", words.outlook(outlook)


def _withheld(withheld: Sequence[Withheld], *, brief: bool) -> Iterator[RenderableType]:
    """Yield what must not be done now, once for each reason; the first few of many in brief."""
    if withheld:
        yield paragraph("Not now", style="dim")
    for each in grouped_by_reason(withheld):
        yield paragraph(sentence(each.words if brief else each.in_full))
