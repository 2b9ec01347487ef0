"""What one visit told as likely and a later one does not, though it does not go away unnoticed.

An examination is weighed by itself: what an earlier one found does not count. So a ligament that was told as
torn may not be told so six weeks later, when less can be felt, and nobody may be left with the last number
alone. Which lesions last is in ``lasting.toml``.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from fabella.advise.images import PLAN_CHANGES_AT
from fabella.advise.rank import LEAST_MOVE
from fabella.anatomy import Side
from fabella.evidence.knowledge import load_knowledge
from fabella.follow.visits import Seen, seen_in_order
from fabella.infer.context import PROSTHESIS
from fabella.packaged import packaged_table
from fabella.record import Examination
from fabella.workup import ANY_LEVEL, KneeConclusion, LesionProbability, Reason, Workup

_DIGITS = 6  # of a probability, as it is told

MOST_REASONS = 8
"""Findings kept for and against a lesion at each of both visits, the strongest (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """How likely a lesion of any level was told at one visit, with its 90 % interval (0 to 1), and from what.

    ``visit`` is its place among the visits, from 0; ``reasons_for`` and ``reasons_against`` are the strongest
    findings, but for those that speak only through other lesions.
    """

    visit: int
    probability: float
    low: float
    high: float
    reasons_for: tuple[Reason, ...]
    reasons_against: tuple[Reason, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Undone:
    """A lesion that lasts, told as likelier than not at one visit and clearly not at the last one.

    Neither an operation on this knee nor an image that could show it lies between. Of the visits that told it
    so, ``then`` is the one that told it most.
    """

    lesion: str
    side: Side
    then: Told
    now: Told


def undone(seen: Sequence[Seen]) -> tuple[Undone, ...]:
    """Return what the last visit at which a knee was examined tells no longer, the surest then first.

    Told as likelier than not is a lesion from `PLAN_CHANGES_AT` on, where one begins to act, at the levels
    that last as well; clearly no longer is one below that, by `LEAST_MOVE` less than it was.
    """
    found = [each for side in Side for each in _of_knee(seen, side)]
    return tuple(sorted(found, key=lambda each: -each.then.probability))


def told_no_longer(visits: Sequence[Workup | Examination]) -> tuple[Undone, ...]:
    """Return what is `undone` over visits of one patient, in the order of time.

    Raises `InputError` as `follow` does.
    """
    return undone(seen_in_order(visits))


def tells_lasting(workup: Workup) -> bool:
    """Say whether a visit told any lesion that lasts, so that a later one may not tell it any more."""
    knees = () if workup.conclusion is None else workup.conclusion.knees
    return any(_likely(knee, lesion) for knee in knees if knee.findings for lesion in lasting())


def _of_knee(seen: Sequence[Seen], side: Side) -> Iterator[Undone]:
    visits = [(number, knee) for number, each in enumerate(seen) if (knee := _knee(each, side)) is not None]
    if not visits:
        return
    last, concluded = visits[-1]
    for entry in concluded.any_level():
        if entry.probability >= PLAN_CHANGES_AT or entry.lesion not in lasting():
            continue
        before = [
            (number, own)
            for number, knee in visits[:-1]
            if (own := _likely(knee, entry.lesion)) is not None
            and round(own.probability - entry.probability, _DIGITS) >= LEAST_MOVE
            and not _explained(seen[number : last + 1], side, entry.lesion)
        ]
        if before:
            number, own = max(before, key=lambda each: (each[1].probability, each[0]))
            yield Undone(lesion=entry.lesion, side=side, then=_told(number, own), now=_told(last, entry))


def _knee(seen: Seen, side: Side) -> KneeConclusion | None:
    """Return what was concluded about a knee; None when nothing of it was examined."""
    knee = None if seen.conclusion is None else seen.conclusion.knee(side)
    return knee if knee is not None and knee.findings else None


def _likely(knee: KneeConclusion, lesion: str) -> LesionProbability | None:
    """Return a lesion that was likelier than not, at the levels that last; None when it was not."""
    levels = lasting()[lesion]
    lasts = sum(each.probability for each in knee.lesions if each.lesion == lesion and each.level in levels)
    if lasts < PLAN_CHANGES_AT:
        return None
    return next(each for each in knee.any_level() if each.lesion == lesion)


def _explained(seen: Sequence[Seen], side: Side, lesion: str) -> bool:
    """Say whether an operation on a knee, or an image that can show a lesion, came after the first visit."""
    first, *later = (each.examination for each in seen)
    day = seen[0].day
    done = [each for one in later if (each := one.procedure_of(side)) is not None and each.name.is_operation]
    if any(each.on >= day and each != first.procedure_of(side) for each in done):
        return True
    if any(_told_of_operation(first, each, side) for each in later):
        return True
    known = _read(first, side, lesion)
    return any(_read(each, side, lesion) - known for each in later)


def _told_of_operation(first: Examination, later: Examination, side: Side) -> bool:
    """Say whether only the later history has an operation on a knee: a no became a yes, or a prosthesis."""
    before, now = first.history.get("previous_surgery"), later.history.get("previous_surgery")
    replaced = later.history.get(PROSTHESIS) is True and first.history.get(PROSTHESIS) is not True
    return side in later.context.complained_of and (replaced or (before is False and now is True))


def _read(examination: Examination, side: Side, lesion: str) -> frozenset[object]:
    """Return the images of a knee that were read, are weighed, and can show a lesion."""
    rows = load_knowledge().images
    can = {row.image for row in rows if row.lesion == lesion}
    return frozenset(
        (each.image, each.on, each.shows)
        for each in examination.images_of(side)
        if each.shows is not None and each.image.value in can
    )


def _told(visit: int, entry: LesionProbability) -> Told:
    return Told(
        visit=visit,
        probability=entry.probability,
        low=entry.low,
        high=entry.high,
        reasons_for=strongest(entry.reasons_for),
        reasons_against=strongest(entry.reasons_against),
    )


def strongest(reasons: Sequence[Reason]) -> tuple[Reason, ...]:
    """Return the weightiest of some reasons, but for those that speak only through other lesions."""
    own = (each for each in reasons if not each.explained_otherwise)
    return tuple(sorted(own, key=lambda each: -abs(each.weight_bits))[:MOST_REASONS])


@cache
def lasting() -> Mapping[str, frozenset[str]]:
    """Return the lesions that do not go away unnoticed, each with the levels that last, or `ANY_LEVEL`."""
    rows = packaged_table("follow/lasting.toml")["lasting"]
    return MappingProxyType({row["lesion"]: frozenset(row.get("levels", (ANY_LEVEL,))) for row in rows})
