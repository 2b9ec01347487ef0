"""What hands alone had told: a workup without the images that were there before."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from fabella.anatomy import Side
from fabella.record import Examination, ImageKind
from fabella.workup import Workup, run_workup

LOOK_INSIDE = frozenset({ImageKind.MRI, ImageKind.CT, ImageKind.ULTRASOUND})
"""Images that show what hands look for; plain radiographs are there before most examinations."""


def by_hands(examination: Examination, *, work_up: Callable[[Examination], Workup] = run_workup) -> Workup:
    """Return the workup of an examination without its images, which the examination keeps.

    What they showed is no merit of the hands, and is what these are held against.
    """
    return replace(work_up(replace(examination, imaging=())), examination=examination)


def known_before(examination: Examination, side: Side) -> bool:
    """Say whether a knee was examined with an image in hand that had looked inside it."""
    return any(each.image in LOOK_INSIDE and each.shows is not None for each in examination.images_seen(side))
