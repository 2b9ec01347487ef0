"""The conclusion as a page in the terminal: what cannot wait, each knee, what to do next."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from rich.console import Console, RenderableType

from fabella.anatomy import Side
from fabella.cli.drawing import heading, labelled, paragraph
from fabella.cli.knee_page import knee_block
from fabella.cli.steps_page import steps_block
from fabella.cli.words import CAUTION, Words
from fabella.report.gather import readings_of
from fabella.report.story import patient_words
from fabella.report.wording import lowered, sentence
from fabella.workup import Alarm, AlarmVerdict, Urgency, Workup

_HOW_SOON = {
    Urgency.NOW: "now",
    Urgency.SAME_DAY: "today",
    Urgency.WITHIN_48_HOURS: "within 48 hours",
    Urgency.WITHIN_2_WEEKS: "within 2 weeks",
    Urgency.ROUTINE_BUT_DO_NOT_MISS: "in routine",
}
_PRESSING = (Urgency.NOW, Urgency.SAME_DAY, Urgency.WITHIN_48_HOURS)


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
        when,
    )
    yield paragraph("; ".join(filter(None, about)).replace("\u00a0", " "), indent=0)


def cannot_wait_block(alarms: tuple[Alarm, ...]) -> Iterator[RenderableType]:
    """Yield what cannot wait: rules that are met, then what cannot be excluded and what to ask."""
    yield heading("What cannot wait")
    matters = both_sides(alarms)
    met = [each for each in matters if each[0].verdict is AlarmVerdict.MET]
    still_open = [each for each in matters if each[0].verdict is not AlarmVerdict.MET]
    if not met:
        yield paragraph("No rule is met." if still_open else "No rule is met, and none is left open.")
    for alarm, where in met:
        yield paragraph(f"{where}: {alarm.name}", mark="!", style="bold")
        source = f"{alarm.source}, from memory" if alarm.recalled else alarm.source
        because = "; ".join(each.words for each in alarm.met)
        yield labelled((("because", because), ("do", alarm.action), ("source", source)), indent=4)
    pressing = [each for each in still_open if each[0].urgency in _PRESSING]
    for alarm, where in pressing:
        yield paragraph(f"{where}, cannot be excluded: {alarm.name}", mark="?")
        yield paragraph("; ".join(each.ask for each in alarm.unknown), indent=4)
    later = [
        f"{alarm.name} ({lowered(where)})" for alarm, where in still_open if (alarm, where) not in pressing
    ]
    if later:
        yield paragraph(sentence(f"less pressing, not excluded either: {'; '.join(later)}"))


def both_sides(alarms: tuple[Alarm, ...]) -> list[tuple[Alarm, str]]:
    """Return each alarm once with where and how soon, those alike on both knees as one."""
    alike: dict[Alarm, list[Alarm]] = {}
    for alarm in alarms:
        alike.setdefault(replace(alarm, side=None), []).append(alarm)
    return [(each[0], _where(each)) for each in alike.values()]


def _where(alike: list[Alarm]) -> str:
    knees = [alarm.side for alarm in alike if alarm.side is not None]
    where = "both knees, " if len(knees) > 1 else "".join(f"{side} knee, " for side in knees)
    text = f"{where}{_HOW_SOON[alike[0].urgency]}"
    return text[:1].upper() + text[1:]
