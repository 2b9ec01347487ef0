"""What could be believed and what was believed, lesion by lesion, as steps over the time of the run."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fabella.anatomy import load_lesions
from fabella.stats.written import percentage
from fabella.teach import Debrief
from fabella.teach.debriefed import Moment

WIDTH, HEIGHT = 300.0, 80.0
"""Of the field of a panel in its own units; a probability of 1 stands at the top."""
MOST = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """One lesion: paths of an SVG for what could be believed and for what was, and where both ended.

    ``theirs`` is empty when the student never named the lesion; ``said`` are the points at which they said
    something new of it.
    """

    lesion: str
    is_there: bool
    model: str
    theirs: str
    said: tuple[tuple[str, str], ...]
    model_end: str
    their_end: str
    text: str


def panels_of(found: Debrief) -> tuple[Panel, ...]:
    """Return the lesions that are there and those believed, then the likeliest, each with its steps."""
    complaint = [lesion for lesions in found.present.values() for lesion, _ in lesions]
    followed = list(found.moments[0].chances) if found.moments else []
    named = [lesion for lesion in followed if lesion in complaint or lesion in found.believed]
    others = sorted((each for each in followed if each not in named), key=lambda each: -_peak(found, each))
    return tuple(_panel(found, lesion, is_there=lesion in complaint) for lesion in [*named, *others][:MOST])


def _peak(found: Debrief, lesion: str) -> float:
    return max(moment.chances[lesion] for moment in found.moments)


def _panel(found: Debrief, lesion: str, *, is_there: bool) -> Panel:
    model = [(moment.at_s, moment.chances[lesion]) for moment in found.moments]
    theirs = [
        (moment.at_s, moment.believed.get(lesion, 0.0)) for moment in _said(found.moments) if moment.believed
    ]
    if not any(chance for _, chance in theirs):
        theirs = []
    end = percentage(model[-1][1])
    theirs_end = f"{theirs[-1][1]:.0%}" if theirs else ""
    believed = f"you said {theirs_end}" if theirs else "you did not name it"
    name = load_lesions()[lesion].name
    return Panel(
        lesion=name,
        is_there=is_there,
        model=_steps(model, found.seconds),
        theirs=_steps(theirs, found.seconds),
        said=tuple(_at(each, found.seconds or 1.0) for each in theirs),
        model_end=end,
        their_end=theirs_end,
        text=f"{name}: from {percentage(model[0][1])} to {end} on your findings; {believed}.",
    )


def _said(moments: Sequence[Moment]) -> list[Moment]:
    """Return the moments at which the student said something new."""
    return [
        moment
        for before, moment in zip((None, *moments), moments, strict=False)
        if before is None or moment.believed != before.believed
    ]


def _steps(points: list[tuple[float, float]], seconds: float) -> str:
    """Return a path that goes level from each point to the next, and from the last to the end."""
    if not points:
        return ""
    span = seconds or 1.0
    x0, y0 = _at(points[0], span)
    parts = [f"M{x0} {y0}"]
    for point in points[1:]:
        x, y = _at(point, span)
        parts.append(f"H{x}V{y}")
    return "".join([*parts, f"H{WIDTH:g}"])


def _at(point: tuple[float, float], span: float) -> tuple[str, str]:
    return f"{min(point[0] / span, 1.0) * WIDTH:.1f}", f"{(1 - point[1]) * HEIGHT:.1f}"
