"""What a lesion brings about more seldom, or more often, at some ages: an infected joint of a small child.

The table of causes holds what is so at any age; that of causes by age takes its place where the patient is
younger than it says. Who is of unknown age is taken as grown up.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

import numpy as np

from fabella.evidence.facts import Cause, Knowledge
from fabella.evidence.links import cause_key
from fabella.infer.network import Manifestation


def years_alike(
    knowledge: Knowledge, age_years: float | None, manifestations: Collection[str]
) -> float | None:
    """Return the least age at which some manifestations come about as at this one.

    None when they come about as in a grown-up, or the age is not known.
    """
    bounds = {row.below_years or 0.0 for row in knowledge.at_ages if row.manifestation in manifestations}
    if age_years is None or age_years >= max(bounds, default=0.0):
        return None
    return max((each for each in bounds if each <= age_years), default=0.0)


def causes_at(knowledge: Knowledge, age_years: float | None) -> dict[tuple[object, ...], Cause]:
    """Return the causes that act otherwise at this age, by `cause_key`."""
    if age_years is None:
        return {}
    own = [row for row in knowledge.at_ages if age_years < (row.below_years or 0.0)]
    return {cause_key(row): row for row in sorted(own, key=lambda row: -(row.below_years or 0.0))}


def reach_at(knowledge: Knowledge, age_years: float | None) -> dict[tuple[str, str], tuple[str, str]]:
    """Return what the links that are otherwise at this age rest on, as `Network.reach` does."""
    return {
        (row.manifestation, lesion): (row.provenance.value, row.source)
        for row in causes_at(knowledge, age_years).values()
        for lesion, _ in row.parts
    }


def at_this_age(manifestation: Manifestation, knowledge: Knowledge, age_years: float | None) -> Manifestation:
    """Return a manifestation as it comes about at an age; where nothing is said of that it is unchanged."""
    own = causes_at(knowledge, age_years)
    causes = tuple(own.get(cause_key(cause), cause) for cause in manifestation.causes)
    if causes == manifestation.causes:
        return manifestation
    chance = np.array([cause.at_least for cause in causes]).reshape(manifestation.chance.shape)
    return replace(manifestation, causes=causes, chance=chance)
