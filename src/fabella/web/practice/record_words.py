"""A student's record in words, as its page shows it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from fabella.protocol import load_protocol
from fabella.stats import Bin
from fabella.store.school.remembering import PastRun
from fabella.teach import ItemKind, Learned, Rate, Recognition, Scheduled
from fabella.teach.learned import ENOUGH_BELIEFS, Belief, Habit
from fabella.teach.recognition import ENOUGH
from fabella.teach.wording import habit_words, item_words, lesson_words
from fabella.web.practice.lines import clock_words

_HEADINGS = {ItemKind.READ: "To read", ItemKind.DO: "To think of", ItemKind.KEEP: "To keep to"}
_CLOSE = 0.05
"""Mean distance of belief and truth up to which they are said to agree (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """One thing that comes again: what, when, and how many of the runs that brought it up missed it."""

    what: str
    when: str
    missed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DueGroup:
    """What comes again of one kind: under which heading, what is due, and what comes later."""

    heading: str
    due: tuple[Due, ...]
    later: tuple[Due, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fifth:
    """One row of the calibration: what was said, how often, how often it was there, with its interval."""

    said: str
    n: int
    there: str
    interval: str
    few: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SignRow:
    """How one sign was read: each rate as counts, with its interval where there is enough."""

    name: str
    sign: str
    seen: str
    cleared: str
    degree: str
    beside: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HabitRow:
    """How often a habit was kept."""

    name: str
    kept: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RunRow:
    """One run: when, how long, how many signs, in what order, how good, and what it taught."""

    id: int
    begun: datetime
    time: str
    signs: int
    order: tuple[str, ...]
    brier: str
    lesson: str


def due_groups(scheduled: Sequence[Scheduled], today: date) -> tuple[DueGroup, ...]:
    """Return what comes again, kind by kind; a kind of which nothing does is left out."""
    groups = [
        DueGroup(
            heading=heading,
            due=_dues((each for each in scheduled if each.item.kind is kind and each.due <= today), today),
            later=_dues((each for each in scheduled if each.item.kind is kind and each.due > today), today),
        )
        for kind, heading in _HEADINGS.items()
    ]
    return tuple(each for each in groups if each.due or each.later)


def _dues(scheduled: Iterable[Scheduled], today: date) -> tuple[Due, ...]:
    protocol = load_protocol()
    return tuple(
        Due(
            what=item_words(each.item, protocol=protocol).rstrip("."),
            when=_when(each.due, today),
            missed=f"missed {each.missed} of {each.met}",
        )
        for each in scheduled
    )


def _when(due: date, today: date) -> str:
    days = (due - today).days
    if days == 0:
        return "due today"
    if days > 0:
        return "tomorrow" if days == 1 else f"in {days} days"
    return "due since yesterday" if days == -1 else f"due for {-days} days"


def fifths_of(bins: Sequence[Bin]) -> tuple[Fifth, ...]:
    """Return the rows of a calibration."""
    return tuple(
        Fifth(
            said=f"{each.low:.0%} to {each.high:.0%}",
            n=each.n,
            there=f"{each.came_true.estimate:.0%}",
            interval=f"{each.came_true.low:.0%} to {each.came_true.high:.0%}",
            few=each.n < ENOUGH,
        )
        for each in bins
    )


def belief_words(belief: Belief) -> tuple[str, ...]:
    """Return what a calibration amounts to, in sentences; that it is too little, where it is."""
    unnamed = f"{_times(belief.unnamed, 'lesion')} that was there was not named" if belief.unnamed else ""
    more = (unnamed.replace(" was there was", " were there were") if belief.unnamed > 1 else unnamed) + "."
    after = (more,) if unnamed else ()
    if belief.parts is None:
        few = f"Too little to tell yet: {belief.n} of the {ENOUGH_BELIEFS} probabilities that it takes."
        return (few, *after)
    parts = belief.parts
    off = sum(each.n * (each.said - each.came_true.estimate) for each in belief.bins) / belief.n
    sure = "surer than right" if off > 0 else "less sure than right"
    first = (
        "On average you are as sure as you are right."
        if abs(off) <= _CLOSE
        else f"On average you are {sure}, by {abs(off):.0%}."
    )
    score = (
        f"Brier score {parts.brier:.3f} of each probability (0 is best): "
        f"{parts.reliability:.3f} because what you said did not come true as often (reliability), "
        f"less {parts.resolution:.3f} for telling cases apart (resolution), "
        f"on {parts.uncertainty:.3f} that lies in the cases (uncertainty); "
        f"{parts.within:+.3f} lies within the fifths.".replace("-", "−")
    )
    return (first, score, *after)


def sign_rows(signs: Sequence[Recognition]) -> tuple[SignRow, ...]:
    """Return the signs that were read, those that were read wrongly most often first."""
    protocol = load_protocol()
    return tuple(
        SignRow(
            name=protocol.sign(each.sign).name,
            sign=each.sign,
            seen=_rate(each.seen),
            cleared=_rate(each.cleared),
            degree=_rate(each.graded if each.graded.n else each.measured),
            beside=", ".join(_beside(each)),
        )
        for each in signs
        if each.sign in protocol
    )


def _beside(each: Recognition) -> Iterator[str]:
    if each.unread:
        yield f"not recorded {each.unread}×"
    if each.left_out:
        yield f"left out {each.left_out}×"


def habit_rows(habits: Sequence[Habit]) -> tuple[HabitRow, ...]:
    """Return how often each habit was kept."""
    return tuple(
        HabitRow(
            name=habit_words(each.habit, kept=True).rstrip("."),
            kept=_rate(Rate(right=each.kept, n=each.n)),
        )
        for each in habits
    )


def run_rows(runs: Sequence[PastRun], learned: Learned) -> tuple[RunRow, ...]:
    """Return the runs, the latest first."""
    protocol = load_protocol()
    rows = [
        RunRow(
            id=run.id,
            begun=run.begun,
            time=clock_words(run.facts.seconds),
            signs=point.signs,
            order=tuple("–" if share is None else f"{share:.0%}" for share in point.order),
            brier="–" if run.brier is None else f"{run.brier:.2f}",
            lesson="" if run.lesson is None else lesson_words(run.lesson, protocol=protocol),
        )
        for run, point in zip(sorted(runs, key=lambda each: each.begun), learned.points, strict=True)
    ]
    return tuple(reversed(rows))


def _rate(rate: Rate) -> str:
    if not rate.n:
        return "–"
    counts = f"{rate.right} of {rate.n}"
    interval = rate.interval
    if interval is None:
        return counts
    return f"{interval.estimate:.0%} ({interval.low:.0%} to {interval.high:.0%}), {counts}"


def _times(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"
