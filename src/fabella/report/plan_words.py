"""The plan: the next step at the bedside, the images, and what must not be done now."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from fabella.anatomy import Lesions
from fabella.report.likelihood_words import percentage
from fabella.report.wording import lowered
from fabella.workup import Advice, NextStep, Withheld

_MOST_STEPS, _MOST_IMAGES, _MOST_NAMES = 2, 2, 6
_WORTH_A_WORD_BITS = 0.05  # an image expected to tell less is not worth a word (judgement)


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
class NotNow:
    """Signs that must not be looked for now for one reason, ids with names, and how many more there are."""

    because: str
    signs: tuple[tuple[str, str], ...]
    more: int

    @property
    def words(self) -> str:
        """The reason with the names of the signs."""
        more = [f"and {self.more} more"] if self.more else []
        return f"{self.because}: {'; '.join([*(name for _, name in self.signs), *more])}"


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
    not_now
        The same sign by sign, as things that can be opened; empty where only the words were kept.
    """

    enough: str
    bedside: tuple[StepWords, ...]
    imaging: tuple[StepWords, ...]
    withheld: tuple[str, ...]
    not_now: tuple[NotNow, ...] = field(default=(), compare=False)

    @property
    def steps(self) -> tuple[str, ...]:
        """The steps at the bedside in words."""
        return tuple(each.words for each in self.bedside)

    @property
    def images(self) -> tuple[str, ...]:
        """The images in words."""
        return tuple(each.words for each in self.imaging)


NO_PLAN = Plan(enough="", bedside=(), imaging=(), withheld=())


def plan_words(advice: Advice | None, lesions: Lesions, *, examined: bool = True) -> Plan:
    """Return the plan in words; an empty one when there is no advice.

    The side is said only where the advice speaks about both knees; no image is named before one was
    ``examined``.
    """
    if advice is None:
        return NO_PLAN
    sides = {each.side for each in (*advice.bedside, *advice.images)}
    both = len(sides) > 1
    not_now = tuple(_not_now(advice.withheld))
    return Plan(
        enough="Nothing left at the bedside would change the plan." if advice.enough else "",
        bedside=()
        if advice.enough
        else tuple(_step(each, lesions, both=both) for each in advice.bedside[:_MOST_STEPS]),
        imaging=tuple(_step(each, lesions, both=both) for each in telling(advice.images)[:_MOST_IMAGES])
        if examined
        else (),
        withheld=tuple(each.words for each in not_now),
        not_now=not_now,
    )


def telling(images: Sequence[NextStep]) -> tuple[NextStep, ...]:
    """Return the images that are worth a word: those expected to tell more than next to nothing."""
    return tuple(each for each in images if each.bits >= _WORTH_A_WORD_BITS)


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


def _not_now(withheld: Sequence[Withheld]) -> Iterator[NotNow]:
    """What must not be done now, once for each reason, with the first few names and how many more."""
    reasons = dict.fromkeys((each.why, each.side) for each in withheld)
    for why, side in reasons:
        signs = [(each.id, lowered(each.name)) for each in withheld if (each.why, each.side) == (why, side)]
        yield NotNow(
            because=f"{side} knee, {_clause(why)}",
            signs=tuple(signs[:_MOST_NAMES]),
            more=max(len(signs) - _MOST_NAMES, 0),
        )


def _clause(text: str) -> str:
    text = text.strip().rstrip(".")
    return text[:1].lower() + text[1:]
