"""Images that were there before the conclusion, in words: what was taken when, and what it shows."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fabella.anatomy import Lesions, Side
from fabella.record import Examination, ImageKind, Imaging
from fabella.report.wording import listed, sentence, written_date

_NAMES = {
    ImageKind.RADIOGRAPH: "plain radiographs",
    ImageKind.MRI: "MRI",
    ImageKind.CT: "CT",
    ImageKind.ULTRASOUND: "ultrasound",
    ImageKind.VEIN_ULTRASOUND: "ultrasound of the leg veins",
    ImageKind.CT_ANGIOGRAM: "CT angiogram",
    ImageKind.HIP_RADIOGRAPH: "radiographs of the hips",
    ImageKind.SPINE_MRI: "MRI of the lumbar spine",
}
NOTHING, UNREAD = "nothing abnormal seen", "not read yet"
OLD = "from before this complaint, and not weighed"
"""Said of an image that is too old to count, or from before an operation on that knee."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ImageWords:
    """One image: its name, as ``Right knee, plain radiographs``, and what it shows, in sentences."""

    image: ImageKind
    side: Side
    name: str
    text: str


def image_name(image: str) -> str:
    """Return the name of an image by its id."""
    return _NAMES[ImageKind(image)]


def image_words(examination: Examination, lesions: Lesions) -> tuple[ImageWords, ...]:
    """Return every image of an examination in words, right knee before left."""
    ordered = sorted(examination.imaging, key=lambda each: list(Side).index(each.side))
    return tuple(
        ImageWords(
            image=each.image,
            side=each.side,
            name=f"{each.side.capitalize()} knee, {image_name(each.image)}",
            text=" ".join(map(sentence, _told(each, examination, lesions))),
        )
        for each in ordered
    )


def seen_on(image: str, *, shown: bool) -> str:
    """Return an image as a reason: ``seen on MRI``, ``not seen on plain radiographs``."""
    return f"{'' if shown else 'not '}seen on {image_name(image)}"


def _told(image: Imaging, examination: Examination, lesions: Lesions) -> Iterator[str]:
    shows = UNREAD if image.shows is None else listed([lesions[each].name for each in image.shows]) or NOTHING
    day = "" if image.on is None else f"{written_date(image.on)}: "
    yield f"{day}{shows}"
    if image.words:
        yield f"report: “{' '.join(image.words.split())}”"
    if image not in examination.images_of(image.side):
        yield OLD
