"""A student's record in words, as its page shows it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from fabella.anatomy import load_lesions
from fabella.protocol import load_protocol
from fabella.stats import Bin
from fabella.store.school.remembering import PastRun
from fabella.teach import ItemKind, Learned, Recognition, Scheduled, due_on
from fabella.teach.learned import Habit, Judged
from fabella.teach.recognition import ENOUGH
from fabella.teach.record_words import habit_rate_words, rate_words, when_words
from fabella.teach.repetition import by_weight
from fabella.teach.wording import clock_words, habit_words, item_words, lesson_words

_HEADINGS = {ItemKind.READ: "To read", ItemKind.DO: "To think of", ItemKind.KEEP: "To keep to"}


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
class LesionRow:
    """How one lesion was judged: each a count of runs."""

    name: str
    there: int
    named: int
    held: int
    overcalled: int


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
    due = by_weight(due_on(scheduled, today))
    groups = [
        DueGroup(
            heading=heading,
            due=_dues((each for each in due if each.item.kind is kind), today),
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
            when=when_words(each.due, today),
            missed=f"missed {each.missed} of {each.met}",
        )
        for each in scheduled
    )


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


def sign_rows(signs: Sequence[Recognition]) -> tuple[SignRow, ...]:
    """Return the signs that were read, those that were read wrongly most often first."""
    protocol = load_protocol()
    return tuple(
        SignRow(
            name=protocol.sign(each.sign).name,
            sign=each.sign,
            seen=rate_words(each.seen),
            cleared=rate_words(each.cleared),
            degree=rate_words(each.graded if each.graded.n else each.measured),
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


def lesion_rows(lesions: Sequence[Judged]) -> tuple[LesionRow, ...]:
    """Return how each lesion was judged, those missed oftenest first."""
    names = load_lesions()
    return tuple(
        LesionRow(
            name=names[each.lesion].name,
            there=each.there,
            named=each.named,
            held=each.held,
            overcalled=each.overcalled,
        )
        for each in lesions
        if each.lesion in names
    )


def habit_rows(habits: Sequence[Habit]) -> tuple[HabitRow, ...]:
    """Return how often each habit was kept."""
    return tuple(
        HabitRow(
            name=habit_words(each.habit, kept=True).rstrip("."),
            kept=habit_rate_words(each),
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
