"""Published patients of our own gathering: eleven rounds, and what the chain first made of each of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from types import MappingProxyType

from fabella.audit.cases import PublishedCase, read_cases
from fabella.audit.validation import Share, Validation, share, totalled


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstReading:
    """How often the right lesion was first, and among three, when the chain first read a round."""

    first: Share
    top_three: Share


FIRST_READINGS: Mapping[str, FirstReading] = MappingProxyType(
    {
        "second": FirstReading(first=share(41, 76), top_three=share(51, 76)),
        "third": FirstReading(first=share(16, 57), top_three=share(25, 57)),
        "fourth": FirstReading(first=share(19, 40), top_three=share(27, 40)),
        "fifth": FirstReading(first=share(13, 36), top_three=share(26, 36)),
        "sixth": FirstReading(first=share(14, 43), top_three=share(23, 43)),
        "seventh": FirstReading(first=share(8, 27), top_three=share(12, 27)),
        "eighth": FirstReading(first=share(16, 36), top_three=share(22, 36)),
        "ninth": FirstReading(first=share(18, 29), top_three=share(20, 29)),
        "tenth": FirstReading(first=share(10, 29), top_three=share(14, 29)),
        "eleventh": FirstReading(first=share(9, 24), top_three=share(14, 24)),
    }
)
"""Written down when it happened, and never to be computed again: the chain has changed since."""


def collected_cases() -> tuple[PublishedCase, ...]:
    """Return the collected cases that come with the package, kept apart from the `packaged_cases`."""
    return read_cases(files("fabella.audit").joinpath("collected_cases.json").read_text("utf-8"))


def by_round(validation: Validation) -> Mapping[str, Validation]:
    """Return the results of each round with its totals, in the order in which the rounds stand."""
    names = dict.fromkeys(result.case.gathered for result in validation.results)
    return {
        name: totalled(result for result in validation.results if result.case.gathered == name)
        for name in names
        if name
    }
