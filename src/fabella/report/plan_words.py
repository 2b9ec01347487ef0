"""The plan: the next step at the bedside, the images, and what must not be done now."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from fabella.anatomy import Lesions, Side
from fabella.report.step_words import outcome_words, placed, step_words
from fabella.report.wording import listed, lowered
from fabella.stats.written import percentage, spaced
from fabella.workup import Advice, Confirms, NextStep, OrderedBy, Precedes, Withheld

_MOST_STEPS, _MOST_IMAGES, _MOST_NAMES = 2, 2, 4


@dataclass(frozen=True, slots=True, kw_only=True)
class StepWords:
    """One step: what to do for a sign, or an image by its name, and what it would tell or is for.

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
class Sided:
    """A step, and the knees for which it is advised in the same words."""

    step: NextStep
    sides: tuple[Side, ...]

    @property
    def where(self) -> str:
        """The knee, or both."""
        return "both knees" if len(self.sides) > 1 else f"{self.sides[0]} knee"


@dataclass(frozen=True, slots=True, kw_only=True)
class NotNow:
    """What must not be done now for one reason: signs and images, ids with names.

    ``more``: how many signs are not among them, in a signature of when not all were kept.
    """

    because: str
    signs: tuple[tuple[str, str], ...]
    images: tuple[tuple[str, str], ...] = ()
    more: int = 0

    @property
    def words(self) -> str:
        """The reason with the names of the images and the first few signs, and how many more."""
        few = len(self.signs) if len(self.signs) == _MOST_NAMES + 1 else _MOST_NAMES
        return self._words(self.signs[:few], len(self.signs[few:]) + self.more)

    @property
    def in_full(self) -> str:
        """The reason with all names."""
        return self._words(self.signs, self.more)

    def _words(self, signs: Sequence[tuple[str, str]], more: int) -> str:
        names = [name for _, name in (*self.images, *signs)]
        return f"{self.because}: {'; '.join([*names, *([f'and {more} more'] if more else [])])}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What comes next, in words.

    Parameters
    ----------
    enough
        A sentence when nothing left at the bedside would change the plan; empty otherwise.
    together
        A sentence when the rest of the routine examination would do so but no single step; empty otherwise.
    bedside, imaging
        The most telling steps at the bedside, and the images that treatment rests on or that tell most.
    first
        The images that rules ask for which are met; they come before everything else.
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
    first: tuple[StepWords, ...] = ()
    together: str = ""

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
    sided = on_both(advice)

    def said(steps: Iterable[Sided]) -> tuple[StepWords, ...]:
        return tuple(_step(each, lesions, named=sided) for each in steps)

    not_now = grouped_by_reason(advice.withheld)
    return Plan(
        enough="" if advice.first_only else enough_words(advice),
        together=together_words(advice),
        first=said(said_once(advice.first, lesions)),
        bedside=said(said_once(advice.bedside, lesions)[:_MOST_STEPS]),
        imaging=said(_worth_a_word(said_once(advice.images, lesions))) if examined else (),
        withheld=tuple(each.words for each in not_now),
        not_now=not_now,
    )


def enough_words(advice: Advice) -> str:
    """Return that nothing left at the bedside would change the plan; empty where something would.

    What could not be excluded is not forgotten over it: a straight leg takes five seconds to raise.
    """
    if not advice.enough:
        return ""
    if advice.unsettled:
        return "Settle what could not be excluded; nothing else at the bedside would change the plan."
    return "Nothing left at the bedside would change the plan."


def together_words(advice: Advice) -> str:
    """Return that the steps named at the bedside count together; empty where each counts by itself."""
    if not any(each.joins for each in advice.bedside):
        return ""
    return (
        "No single step would change the plan; the rest of the routine examination would, with a chance of "
        f"{percentage(advice.together)}."
    )


def on_both(advice: Advice) -> bool:
    """Say whether the steps are about both knees, so that each has to name its own."""
    return len({each.side for each in (*advice.first, *advice.bedside, *advice.images)}) > 1


def said_once(steps: Iterable[NextStep], lesions: Lesions) -> tuple[Sided, ...]:
    """Return each step once that is advised for either knee, taken alike and for the same."""
    alike: dict[object, list[NextStep]] = {}
    for each in steps:
        alike.setdefault((step_words(each), purpose(each, lesions) or _shown(each)), []).append(each)
    return tuple(Sided(step=same[0], sides=tuple(each.side for each in same)) for same in alike.values())


def _shown(step: NextStep) -> object:
    """Return what is shown of what a step would tell, rounded as it is shown."""
    outlooks = (
        (each.outcome, each.lesion, *map(percentage, (each.chance, each.now, each.then)))
        for each in step.outlooks
    )
    return (f"{step.bits:.2f}", *outlooks)


def purpose(step: NextStep, lesions: Lesions) -> str:
    """Return what an image is for that is not named for what it would tell; empty for any other step."""
    match step.purpose:
        case OrderedBy(rule):
            return f"asked for above ({rule})"
        case Confirms(confirmed, spared_by=rule):
            named = tuple(_lesion(each, lesions) for each in confirmed)
            spared = f"; diagnosing {named[0]} needs no image ({rule})" if rule else ""
            return f"to confirm or grade {listed(named)} before treatment rests on it{spared}"
        case Precedes(image):
            return f"before {lowered(image)}, which is seldom the first image of a knee"
    return ""


def _worth_a_word(images: Sequence[Sided]) -> Iterable[Sided]:
    """Return all that treatment rests on, what films are taken before, and others as there is room."""
    later = {reason.image for each in images if isinstance(reason := each.step.purpose, Precedes)}
    room = max(_MOST_IMAGES, sum(each.step.purpose is not None for each in images))
    return (*images[:room], *(each for each in images[room:] if each.step.name in later))


def _step(sided: Sided, lesions: Lesions, *, named: bool) -> StepWords:
    step = sided.step
    name = placed(step, sided.where) if named else step_words(step)
    return StepWords(id=step.id, name=name, tells=purpose(step, lesions) or _tells(step, lesions))


def _lesion(lesion: str, lesions: Lesions) -> str:
    return lesions[lesion].name if lesion in lesions else spaced(lesion)


def _tells(step: NextStep, lesions: Lesions) -> str:
    """Return the outcome that would move a lesion furthest."""
    moving = max(step.outlooks, key=lambda each: abs(each.then - each.now), default=None)
    if moving is None:
        return ""
    lesion, outcome = _lesion(moving.lesion, lesions), outcome_words(step, moving.outcome)
    return f"if {outcome}, {lesion} from {percentage(moving.now)} to {percentage(moving.then)}"


def grouped_by_reason(withheld: Sequence[Withheld]) -> tuple[NotNow, ...]:
    """Return what must not be done now by reason, alike on both knees once.

    Each deed stands once, under that of its reasons that forbids most; the advice itself has every reason.
    """
    forbids = Counter((reason, each.side) for each in withheld for reason in each.reasons)
    by_reason: dict[tuple[str, Side], list[Withheld]] = {}
    for each in withheld:
        leading = max(each.reasons, key=lambda reason: forbids[reason, each.side])
        by_reason.setdefault((leading, each.side), []).append(each)
    alike: dict[NotNow, list[Side]] = {}
    for (reason, side), deeds in by_reason.items():
        named = NotNow(
            because=lowered(reason.rstrip(".")), signs=_named(deeds, "sign"), images=_named(deeds, "image")
        )
        alike.setdefault(named, []).append(side)
    return tuple(
        replace(each, because=f"{'both knees' if len(sides) > 1 else f'{sides[0]} knee'}, {each.because}")
        for each, sides in alike.items()
    )


def _named(deeds: Sequence[Withheld], kind: str) -> tuple[tuple[str, str], ...]:
    return tuple((each.id, lowered(each.name)) for each in deeds if each.kind == kind)
