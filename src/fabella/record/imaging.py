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
    """Why the conclusion does not weigh an image: it is of another time, or of limited value."""

    BEFORE_OPERATION = "before_operation"
    BEFORE_COMPLAINT = "before_complaint"
    TOO_OLD = "too_old"
    LIMITED = "limited"


@dataclass(frozen=True, slots=True, kw_only=True)
class Imaging:
    """The latest image of one kind, taken for one knee; whatever is None is unknown.

    ``shows`` holds the lesions (ids) it shows, empty when whoever read it saw none; None until it was read.
    ``limited`` says that it is of limited value: blurred by motion, say, or a view is missing. ``words`` are
    those of its report.
    """

    image: ImageKind
    side: Side
    on: date | None = None
    shows: tuple[str, ...] | None = None
    limited: bool = False
    words: str | None = None
