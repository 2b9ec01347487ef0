"""Rows of the tables that link lesions to what they bring about, each read as what it states."""

from __future__ import annotations

from collections.abc import Callable, Collection
from itertools import pairwise
from typing import Any, TypeAlias

from fabella.errors import suggestion
from fabella.evidence.facts import AccuracyUsed, Cause, Company, FirstImage, Image, Indicator
from fabella.evidence.operated import Healing, Review
from fabella.evidence.rates import probability

LEAK = "leak"
TISSUES = ("bone", "ligament", "anterior_cruciate")
"""What an operation sets, cuts or replaces, where that makes a difference to what is usual after it."""

Row: TypeAlias = dict[str, str]


def cause(row: Row, rests: dict[str, Any]) -> Cause:
    """Return a cause of a manifestation; raise `ValueError` when a higher level is surer than a lower one."""
    present, *without = row["cause"].split("-")
    parts = () if present == LEAK else tuple(_part(part) for part in present.split("+"))
    return Cause(
        manifestation=row["manifestation"],
        acuity=row["acuity"],
        parts=parts,
        without=tuple(without),
        at_least=_at_least(row),
        strength=float(row["strength"]),
        below_years=float(row["below_years"]) if row.get("below_years") else None,
        **rests,
    )


def at_age(causes: Collection[Cause]) -> Callable[[Row, dict[str, Any]], Cause]:
    """Return what reads a cause of one age, given those of any: it must be one of them, of as many levels."""
    known = {cause_key(each): len(each.at_least) for each in causes}

    def read(row: Row, rests: dict[str, Any]) -> Cause:
        own = cause(row, rests)
        if own.below_years is None:
            raise ValueError("below_years is missing")
        if known.get(cause_key(own)) != len(own.at_least):
            raise ValueError(f"causes.csv has no row '{row['cause']}' of so many levels to take the place of")
        return own

    return read


def cause_key(each: Cause) -> tuple[object, ...]:
    """Return what two rows of one cause, at different ages, have in common."""
    return each.manifestation, each.acuity, each.parts, each.without


def healing(row: Row, rests: dict[str, Any]) -> Healing:
    """Return what an operated knee shows of itself; raise `ValueError` as `cause` does."""
    if row["tissue"] not in ("", *TISSUES):
        raise ValueError(f"tissue is {' or '.join(TISSUES)}, or empty")
    return Healing(
        within_weeks=int(row["within_weeks"]),
        tissue=row["tissue"],
        manifestation=row["manifestation"],
        at_least=_at_least(row),
        strength=float(row["strength"]),
        **rests,
    )


def review(row: Row, rests: dict[str, Any]) -> Review:
    """Return how many operated knees only come for a review; raise `ValueError` as `cause` does."""
    return Review(
        operation=row["operation"],
        within_weeks=int(row["within_weeks"]),
        share=probability(row["share"]),
        **rests,
    )


def _at_least(row: Row) -> tuple[float, ...]:
    columns = ("at_least_1", "at_least_2", "at_least_3")
    at_least = tuple(probability(row[column]) for column in columns if row[column])
    if any(higher > lower for lower, higher in pairwise(at_least)):
        raise ValueError("a higher level may not be surer than a lower one")
    return at_least


def _part(text: str) -> tuple[str, str]:
    lesion, _, level = text.partition(":")
    return lesion, level


def _weighted(text: str) -> tuple[str, float]:
    manifestation, _, weight = text.partition(":")
    return manifestation, float(weight) if weight else 1.0


def indicator(row: Row, rests: dict[str, Any]) -> Indicator:
    """Return how a sign shows manifestations."""
    return Indicator(
        sign=row["sign"],
        manifestations=tuple(_weighted(part) for part in row["manifestations"].split("+")),
        from_level=int(row["from_level"]),
        partial=probability(row["partial"]) if row["partial"] else 0.0,
        hit=probability(row["hit"]),
        false_alarm=probability(row["false_alarm"]),
        guard_loss=probability(row["guard_loss"]),
        strength=float(row["strength"]),
        **rests,
    )


def _bounds(low: str, high: str) -> tuple[float, float] | None:
    return (probability(low), probability(high)) if low and high else None


def accuracy(row: Row, rests: dict[str, Any]) -> AccuracyUsed:
    """Return the accuracy that is taken for a sign."""
    return AccuracyUsed(
        sign=row["sign"],
        setting=row["setting"],
        targets=tuple(row["targets"].split("+")),
        reference=row["reference"],
        sensitivity=probability(row["sensitivity"]),
        sensitivity_bounds=_bounds(row["sensitivity_low"], row["sensitivity_high"]),
        specificity=probability(row["specificity"]),
        specificity_bounds=_bounds(row["specificity_low"], row["specificity_high"]),
        n=int(row["n"]) if row["n"] else None,
        row=row["row"],
        **rests,
    )


def mechanism(row: Row, _: object) -> tuple[str, dict[str, float]]:
    """Return a lesion, or one at a level, with the number that stands for each mechanism."""
    plain = {"lesion", "from_years", "provenance", "source", "verified", "note"}
    return row["lesion"], {name: probability(text) for name, text in row.items() if name not in plain}


def mechanism_from(row: Row, rests: object) -> tuple[str, float, dict[str, float]]:
    """Return a lesion, or one at a level, the age from which its mechanisms are others, and these."""
    lesion, told = mechanism(row, rests)
    return lesion, float(row["from_years"]), told


def company(row: Row, rests: dict[str, Any]) -> Company:
    """Return how two lesions keep company."""
    return Company(
        given=row["given"],
        also=row["also"],
        acuity=row["acuity"],
        measure=row["measure"],
        value=probability(row["value"]) if row["measure"] == "probability" else float(row["value"]),
        reference=row["reference"],
        **rests,
    )


def image(row: Row, rests: dict[str, Any]) -> Image:
    """Return how well an image shows a lesion."""
    return Image(
        image=row["image"],
        name=row["name"],
        sign=row["sign"],
        minutes=float(row["minutes"]),
        lesion=row["lesion"],
        sensitivity=probability(row["sensitivity"]),
        specificity=probability(row["specificity"]),
        **rests,
    )


def first_image(
    lesions: Collection[str], images: Collection[str]
) -> Callable[[Row, dict[str, Any]], FirstImage]:
    """Return what reads one row, given the lesions and images that there are."""

    def read(row: Row, rests: dict[str, Any]) -> FirstImage:
        for what, known in (("lesion", lesions), ("image", images)):
            if row[what] not in known:
                raise ValueError(f"no {what} '{row[what]}'; {suggestion(row[what], known)}")
        return FirstImage(
            lesion=row["lesion"], level=row["level"], image=row["image"], how=row["how"], **rests
        )

    return read
