"""The conclusion as a page in the terminal: what cannot wait, each knee, what to do next."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from rich.console import Console, RenderableType

from fabella.anatomy import Side
from fabella.cli.drawing import heading, labelled, paragraph
from fabella.cli.knee_page import knee_block
from fabella.cli.steps_page import steps_block
from fabella.cli.words import CAUTION, Words
from fabella.report.cannot_wait import (
    NOT_URGENT,
    SOON,
    Matter,
    Urgent,
    matters_of,
    open_rules,
    urgent_matters,
)
from fabella.report.gather import readings_of
from fabella.report.story import patient_words
from fabella.report.wording import lowered, sentence
from fabella.workup import Alarm, Workup


def conclusion_page(
    workup: Workup, *, words: Words, sides: tuple[Side, ...], top: int, console: Console
) -> Iterator[RenderableType]:
    """Yield the page part by part.

    Parameters
    ----------
    sides
        The knees to show, in order. What cannot wait is told of both, whichever are asked for.
    top
        How many lesions of each knee.
    console
        Where it will be drawn; decides the length of the bars and the characters in them.
    """
    yield from _head(workup)
    yield ""
    yield from cannot_wait_block(workup.alarms)
    for failure in workup.failures:
        yield ""
        yield paragraph(sentence(failure), indent=0, style="bold")
    if workup.conclusion is not None:
        readings = readings_of(workup)
        for side in sides:
            yield ""
            yield from knee_block(workup.conclusion.knee(side), words, readings, top=top, console=console)
    if workup.advice is not None:
        yield ""
        # A history alone sends nobody into a scanner; `fabella next` ranks images all the same.
        images = workup.advice.images if workup.examination.sides else ()
        advice = replace(workup.advice, images=images)
        yield from steps_block(advice, words, sides=sides, top=3, brief=True)
    yield ""
    yield paragraph(f"Evidence {workup.edition}, Fabella {workup.version}. {CAUTION}", indent=0, style="dim")


def _head(workup: Workup) -> Iterator[RenderableType]:
    examination = workup.examination
    context = examination.context
    yield paragraph(examination.id, indent=0, style="bold")
    when = "" if examination.examined_on is None else f"examined on {examination.examined_on}"
    about = (
        patient_words(examination.patient),
        context.setting and context.setting.replace("_", " "),
        context.acuity,
        context.mechanism and context.mechanism.replace("_", " "),
        "no complaint" if context.without_complaint else "",
        when,
    )
    yield paragraph("; ".join(filter(None, about)).replace("\u00a0", " "), indent=0)


def cannot_wait_block(alarms: tuple[Alarm, ...]) -> Iterator[RenderableType]:
    """Yield what cannot wait: rules that are met, then what cannot be excluded and what to ask."""
    yield heading("What cannot wait")
    matters, still_open = matters_of(urgent_matters(alarms)), open_rules(alarms)
    pressing = [each for each in matters if not each.can_wait]
    if not pressing:
        none = "No urgent rule is met" if matters else "No rule is met"
        yield paragraph(f"{none}." if still_open else f"{none}, and none is left open.")
    for each in pressing:
        yield from _matter(each, mark="!")
    yield from pressing_questions(still_open)
    later = [f"{rule.name} ({lowered(rule.place)})" for rule in still_open if rule.when not in SOON]
    if later:
        yield paragraph(sentence(f"less pressing, not excluded either: {'; '.join(later)}"))
    routine = [each for each in matters if each.can_wait]
    if routine:
        yield ""
        yield heading(NOT_URGENT)
    for each in routine:
        yield from _matter(each, mark="-")


def pressing_questions(still_open: Iterable[Urgent]) -> Iterator[RenderableType]:
    """Yield the open rules that press, with what would settle them."""
    for rule in still_open:
        if rule.when in SOON:
            yield paragraph(f"{rule.place}, cannot be excluded: {rule.name}", mark="?")
            yield paragraph("; ".join(rule.because), indent=4)


def _matter(matter: Matter, *, mark: str) -> Iterator[RenderableType]:
    told = matter.told
    yield paragraph(f"{told.place}: {told.name}", mark=mark, style="bold")
    also = "; ".join(f"{each.name} ({each.source})" for each in matter.also)
    lines = (
        ("because", "; ".join(matter.because)),
        ("do", told.action),
        ("source", told.source),
        ("also met", also),
    )
    yield labelled(lines, indent=4)
