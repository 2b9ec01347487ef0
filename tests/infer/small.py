"""A small knee for the oracle: eight lesions of the packaged tables, nothing else changed."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

from fabella.anatomy import Lesions, load_lesions
from fabella.evidence.facts import Knowledge
from fabella.evidence.knowledge import load_knowledge

SOME = (
    "acl_tear",
    "pcl_tear",
    "mcl_tear",
    "medial_meniscus_tear",
    "lateral_meniscus_tear",
    "patellar_instability",
    "osteoarthritis",
    "soft_tissue_injury",
)

PARTNERS = ("acl_tear",)
"""With all partners the published company would ask for more lesions than eight rates add up to."""


def small_lesions() -> Lesions:
    """Return eight of the packaged lesions, excluding only each other."""
    every = load_lesions()
    kept = {
        name: replace(every[name], excludes=tuple(other for other in every[name].excludes if other in SOME))
        for name in SOME
    }
    return Lesions(MappingProxyType(kept), MappingProxyType({name: name for name in SOME}))


def small_knowledge() -> Knowledge:
    """Return the packaged tables, as far as they speak of the eight lesions."""
    every = load_knowledge()
    return replace(
        every,
        causes=tuple(cause for cause in every.causes if all(lesion in SOME for lesion, _ in cause.parts)),
        at_ages=tuple(cause for cause in every.at_ages if all(lesion in SOME for lesion, _ in cause.parts)),
        accuracy=tuple(used for used in every.accuracy if all(lesion in SOME for lesion in used.targets)),
        company=tuple(pair for pair in every.company if pair.given in SOME and pair.also in PARTNERS),
        images=tuple(image for image in every.images if image.lesion in SOME),
    )
