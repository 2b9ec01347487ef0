"""Every row of the knee model that says what it rests on, table by table."""

from __future__ import annotations

from collections.abc import Sequence

from fabella.evidence.facts import Knowledge
from fabella.evidence.source import Footing


def tables(knowledge: Knowledge) -> dict[str, Sequence[Footing]]:
    """Return every row of the model that says what it rests on, by table."""
    bases = tuple(knowledge.base_rates.values())
    return {
        "accuracy of signs": knowledge.accuracy,
        "from lesion to manifestation": (*knowledge.causes, *knowledge.at_ages),
        "from manifestation to sign": tuple(knowledge.indicators.values()),
        "company": knowledge.company,
        "rates, by lesion": bases,
        "single rates and odds apart": tuple(own for base in bases for own in base.rests.values()),
        "women against men by age": tuple(own for base in bases for own in base.women_by_age.values()),
        "rates of prostheses": tuple(each for base in bases for each in base.replaced.values()),
        "after an operation": tuple(each.after_operation for each in bases if each.after_operation),
        "what an operation mends": tuple(each for base in bases for each in base.mended.values()),
        "an operated knee itself": knowledge.healing,
        "only a review": knowledge.reviews,
        "shares of levels by age": tuple(each for base in bases for each in base.shares_by_age.values()),
        "images": knowledge.images,
        "first images": knowledge.first_images,
    }
