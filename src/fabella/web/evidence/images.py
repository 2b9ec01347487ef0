"""Images and laboratory tests: which lesions they show, and how well."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from fabella.anatomy import Lesions
from fabella.evidence import Edition
from fabella.evidence.facts import Image
from fabella.report.whiskers import Whisker, percent
from fabella.stats.written import share_words
from fabella.web.evidence.rests import Rests, rests_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """One lesion that an image shows: both shares on a scale, and what they rest on."""

    lesion: str
    name: str
    sensitivity: Whisker
    specificity: Whisker
    rests: Rests


def shown_by(edition: Edition, lesions: Lesions, rows: Iterable[Image]) -> tuple[Shown, ...]:
    """Return what an image shows, lesion by lesion."""
    return tuple(
        Shown(
            lesion=each.lesion,
            name=lesions[each.lesion].name,
            sensitivity=_whisker(each.sensitivity),
            specificity=_whisker(each.specificity),
            rests=rests_of(edition, each),
        )
        for each in rows
    )


def _whisker(share: float) -> Whisker:
    return Whisker(at=percent(share), low=None, high=None, words=share_words(share, None, None), ends="")
