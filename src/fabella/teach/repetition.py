"""What a student missed comes again: each thing on the day on which a published scheduler expects it to fade.

The scheduler is FSRS as its authors' library has it, with their parameters: they were fitted to millions of
reviews of flash cards, not to examinations of knees, for which nothing of the kind is published.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from enum import StrEnum

from fsrs import Card, Rating, Scheduler

from fabella.teach.facts import ALERT, HARMLESS, Reading, RunFacts, SignFact

LONGEST_DAYS = 365
"""After which everything that was once missed is met again at the latest (judgement: a year of study)."""
RETENTION = 0.9
"""Chance of still getting it right at which it comes again (the library's own default)."""


LEFT_OUT_FROM = 2
"""Runs that left a sign out from which it is repeated: once is told in the debrief (judgement)."""


class ItemKind(StrEnum):
    """What there is to repeat about a sign or a habit."""

    READ = "read"
    """To read a sign as it shows."""
    DO = "do"
    """To think of a sign where it tells much."""
    KEEP = "keep"
    """To keep a habit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One thing to repeat: about a sign, or about a habit."""

    kind: ItemKind
    about: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Scheduled:
    """When an item comes again.

    ``met`` counts the runs in which it came up since it was first missed, ``missed`` those in which it was;
    ``recall`` is the chance (0..1) that the scheduler gives to getting it right now; ``sound`` says that the
    last slip was to call abnormal what was not, so that it is practised on what is normal.
    """

    item: Item
    due: date
    met: int
    missed: int
    recall: float
    sound: bool


_READINGS = {
    Reading.MISSED: Rating.Again,
    Reading.OVERCALLED: Rating.Again,
    Reading.NOT_TESTABLE: Rating.Again,
    Reading.GRADE: Rating.Hard,
    Reading.MEASURED: Rating.Hard,
    Reading.RIGHT: Rating.Good,
}


@dataclass(slots=True)
class _Course:
    """An item on its way through the runs."""

    card: Card
    met: int = 0
    missed: int = 0
    sound: bool = False


def schedule(runs: Iterable[tuple[datetime, RunFacts]], *, now: datetime) -> tuple[Scheduled, ...]:
    """Return everything that was ever missed with the day on which it comes again, the earliest first.

    Parameters
    ----------
    runs
        When each run was begun, with its facts, in any order.
    now
        The time at which the chances of recall are told; days are those of its zone.

    Notes
    -----
    An item begins with the first run that missed it, a sign left out with the second. Missed or overcalled is
    rated "again", a degree or a measurement off "hard", right "good"; of both sides the worse counts. Reading
    a normal knee rightly is no review of a sign that was missed, nor reading an abnormal one of a sign that
    was overcalled.
    """
    scheduler = Scheduler(
        desired_retention=RETENTION,
        learning_steps=(),
        relearning_steps=(),
        maximum_interval=LONGEST_DAYS,
        enable_fuzzing=False,
    )
    courses: dict[Item, _Course] = {}
    left: Counter[str] = Counter()
    for at, facts in sorted(runs, key=lambda each: each[0]):
        when = at.astimezone(UTC)
        for item, rating, sound in _rated(facts, courses, left):
            begun = Card(card_id=len(courses), due=when)
            before = left[item.about] - 1 if item.kind is ItemKind.DO else 0
            course = courses.setdefault(item, _Course(card=begun, met=before, missed=before))
            course.card, _ = scheduler.review_card(course.card, rating, review_datetime=when)
            course.met += 1
            if rating is not Rating.Good:
                course.missed += 1
                course.sound = sound
    found = [
        Scheduled(
            item=item,
            due=course.card.due.astimezone(now.tzinfo).date(),
            met=course.met,
            missed=course.missed,
            recall=scheduler.get_card_retrievability(course.card, current_datetime=now.astimezone(UTC)),
            sound=course.sound,
        )
        for item, course in courses.items()
    ]
    return tuple(sorted(found, key=lambda each: (each.due, each.recall, each.item.kind, each.item.about)))


def due_on(scheduled: Iterable[Scheduled], day: date) -> tuple[Scheduled, ...]:
    """Return what is due by the end of a day."""
    return tuple(each for each in scheduled if each.due <= day)


_RANK = {"consent": -4, "pain_first": -3, "hand_hygiene": -2, "both_knees": -1}
"""Habits that go before what was missed as often (judgement); all others go after it."""


def by_weight(scheduled: Iterable[Scheduled]) -> tuple[Scheduled, ...]:
    """Return items by what they matter: habits that spare harm first, then what was missed oftenest."""
    return tuple(
        sorted(
            scheduled,
            key=lambda each: (
                each.item.kind is not ItemKind.KEEP or each.item.about not in (ALERT, HARMLESS),
                -each.missed,
                _RANK.get(each.item.about, 1) if each.item.kind is ItemKind.KEEP else 0,
                each.due,
                each.item.kind,
                each.item.about,
            ),
        )
    )


def _rated(
    facts: RunFacts, known: dict[Item, _Course], left: Counter[str]
) -> Iterator[tuple[Item, Rating, bool]]:
    """Yield every item that came up in a run, with its rating and whether the slip was on a sound knee."""
    signs: dict[str, list[SignFact]] = {}
    for fact in facts.signs:
        signs.setdefault(fact.sign, []).append(fact)
    for sign, sides in signs.items():
        yield from _read(sign, sides, known)
        do = Item(kind=ItemKind.DO, about=sign)
        if any(side.reading is Reading.LEFT_OUT for side in sides):
            left[sign] += 1
            if do in known or left[sign] >= LEFT_OUT_FROM:
                yield do, Rating.Again, False
        elif do in known and any(side.reading is not Reading.NOT_DONE for side in sides):
            yield do, Rating.Good, False
    for habit in facts.habits:
        keep = Item(kind=ItemKind.KEEP, about=habit.habit)
        if not habit.kept or keep in known:
            yield keep, Rating.Good if habit.kept else Rating.Again, False


def _read(
    sign: str, sides: Sequence[SignFact], known: Mapping[Item, _Course]
) -> Iterator[tuple[Item, Rating, bool]]:
    """Yield how a sign was read: by its worst slip, or rightly where it was missed before on such a knee."""
    read = Item(kind=ItemKind.READ, about=sign)
    slips = [side for side in sides if side.reading in _READINGS and side.reading is not Reading.RIGHT]
    if slips:
        worst = min(slips, key=lambda side: _READINGS[side.reading])
        yield read, _READINGS[worst.reading], worst.abnormal is False
    elif read in known and any(
        side.reading is Reading.RIGHT and side.abnormal in (None, not known[read].sound) for side in sides
    ):
        yield read, Rating.Good, False
