"""The plan: the next step at the bedside, the images, and what must not be done now."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from fabella.anatomy import Lesions
from fabella.report.likelihood_words import percentage
from fabella.report.wording import lowered
from fabella.workup import Advice, NextStep, Withheld

_MOST_STEPS, _MOST_IMAGES, _MOST_NAMES = 2, 2, 6


@dataclass(frozen=True, slots=True, kw_only=True)
class StepWords:
    """One step: a sign to look for or ask about, or an image; its name, and what it would tell.

    ``tells`` is empty when nothing would move far.
    """

    id: str
    name: str
    tells: str

    @property
    def words(self) -> str:
        """The step with what it would tell."""
        return f"{self.name}: {self.tells}" if self.tells else self.name


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What comes next, in words.

    Parameters
    ----------
    enough
        A sentence when nothing left at the bedside would change the plan; empty otherwise.
    bedside, imaging
        The most telling steps at the bedside and images, each with what it would tell.
    withheld
        What must not be done now, and why.
    """

    enough: str
    bedside: tuple[StepWords, ...]
    imaging: tuple[StepWords, ...]
    withheld: tuple[str, ...]

    @property
    def steps(self) -> tuple[str, ...]:
        """The steps at the bedside in words."""
        return tuple(each.words for each in self.bedside)

    @property
    def images(self) -> tuple[str, ...]:
        """The images in words."""
        return tuple(each.words for each in self.imaging)


NO_PLAN = Plan(enough="", bedside=(), imaging=(), withheld=())


def plan_words(advice: Advice | None, lesions: Lesions) -> Plan:
    """Return the plan in words; an empty one when there is no advice.

    The side is said only where the advice speaks about both knees.
    """
    if advice is None:
        return NO_PLAN
    sides = {each.side for each in (*advice.bedside, *advice.images)}
    both = len(sides) > 1
    return Plan(
        enough="Nothing left at the bedside would change the plan." if advice.enough else "",
        bedside=()
        if advice.enough
        else tuple(_step(each, lesions, both=both) for each in advice.bedside[:_MOST_STEPS]),
        imaging=tuple(_step(each, lesions, both=both) for each in advice.images[:_MOST_IMAGES]),
        withheld=tuple(_withheld(advice.withheld)),
    )


def _step(step: NextStep, lesions: Lesions, *, both: bool) -> StepWords:
    asked = f"ask about {lowered(step.name)}" if step.kind == "question" else lowered(step.name)
    name = f"{asked}, {step.side} knee" if both else asked
    return StepWords(id=step.id, name=name, tells=_tells(step, lesions))


def _tells(step: NextStep, lesions: Lesions) -> str:
    """Return the outcome that would move a lesion furthest."""
    moving = max(step.outlooks, key=lambda each: abs(each.then - each.now), default=None)
    if moving is None:
        return ""
    lesion = lesions[moving.lesion].name if moving.lesion in lesions else moving.lesion.replace("_", " ")
    outcome = moving.outcome.replace("_", " ")
    return f"if {outcome}, {lesion} from {percentage(moving.now)} to {percentage(moving.then)}"


def _withheld(withheld: Sequence[Withheld]) -> Iterator[str]:
    """What must not be done now, once for each reason, with the first few names and how many more."""
    reasons = dict.fromkeys((each.why, each.side) for each in withheld)
    for why, side in reasons:
        names = [lowered(each.name) for each in withheld if (each.why, each.side) == (why, side)]
        more = [f"and {len(names) - _MOST_NAMES} more"] if len(names) > _MOST_NAMES else []
        yield f"{side} knee, {_clause(why)}: {'; '.join([*names[:_MOST_NAMES], *more])}"


def _clause(text: str) -> str:
    text = text.strip().rstrip(".")
    return text[:1].lower() + text[1:]
