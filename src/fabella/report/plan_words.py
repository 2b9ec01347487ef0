"""The plan: the next step at the bedside, the images, and what must not be done now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fabella.anatomy import Lesions
from fabella.report.likelihood_words import percentage
from fabella.report.wording import lowered
from fabella.workup import Advice, NextStep

_MOST_STEPS, _MOST_IMAGES = 2, 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What comes next, in words.

    Parameters
    ----------
    enough
        A sentence when nothing left at the bedside would change the plan; empty otherwise.
    steps, images
        The most telling steps at the bedside and images, each with what it would tell.
    withheld
        What must not be done now, and why.
    """

    enough: str
    steps: tuple[str, ...]
    images: tuple[str, ...]
    withheld: tuple[str, ...]


NO_PLAN = Plan(enough="", steps=(), images=(), withheld=())


def plan_words(advice: Advice | None, lesions: Lesions) -> Plan:
    """Return the plan in words; an empty one when there is no advice."""
    if advice is None:
        return NO_PLAN
    return Plan(
        enough="Nothing left at the bedside would change the plan." if advice.enough else "",
        steps=() if advice.enough else _steps(advice.bedside[:_MOST_STEPS], lesions),
        images=_steps(advice.images[:_MOST_IMAGES], lesions),
        withheld=tuple(
            f"{lowered(each.name)}, {each.side} knee: {_clause(each.why)}" for each in advice.withheld
        ),
    )


def _steps(steps: Sequence[NextStep], lesions: Lesions) -> tuple[str, ...]:
    return tuple(_step(each, lesions) for each in steps)


def _step(step: NextStep, lesions: Lesions) -> str:
    """A step with the outcome that would move a lesion furthest."""
    text = f"{lowered(step.name)} of the {step.side} knee"
    moving = max(step.outlooks, key=lambda each: abs(each.then - each.now), default=None)
    if moving is None:
        return text
    lesion = lesions[moving.lesion].name if moving.lesion in lesions else moving.lesion.replace("_", " ")
    outcome = moving.outcome.replace("_", " ")
    return f"{text} (if {outcome}: {lesion} from {percentage(moving.now)} to {percentage(moving.then)})"


def _clause(text: str) -> str:
    text = text.strip().rstrip(".")
    return text[:1].lower() + text[1:]
