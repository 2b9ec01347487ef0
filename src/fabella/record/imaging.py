"""Images of a knee that were there before the conclusion: what was taken, for which side, what it shows."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from fabella.anatomy import Side


class ImageKind(StrEnum):
    """What was taken; what needs a needle is a finding."""

    RADIOGRAPH = "radiograph"
    MRI = "mri"
    CT = "ct"
    ULTRASOUND = "ultrasound"
    VEIN_ULTRASOUND = "vein_ultrasound"
    CT_ANGIOGRAM = "ct_angiogram"
    HIP_RADIOGRAPH = "hip_radiograph"
    SPINE_MRI = "spine_mri"


class SetAside(StrEnum):
    """Why an image tells nothing of the complaint that a knee is examined for."""

    BEFORE_OPERATION = "before_operation"
    BEFORE_COMPLAINT = "before_complaint"
    TOO_OLD = "too_old"


@dataclass(frozen=True, slots=True, kw_only=True)
class Imaging:
    """The latest image of one kind, taken for one knee; whatever is None is unknown.

    ``shows`` holds the lesions (ids) it shows, empty when whoever read it saw none; None until it was read.
    ``words`` are those of its report.
    """

    image: ImageKind
    side: Side
    on: date | None = None
    shows: tuple[str, ...] | None = None
    words: str | None = None
