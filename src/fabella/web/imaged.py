"""Images of a visit in words: one by itself, and those that no conclusion takes into account."""

from __future__ import annotations

from dataclasses import replace

from fabella.anatomy import load_lesions
from fabella.record import Examination, ImageKind, Imaging, Origin
from fabella.report.imaging_words import ImageWords, image_name, image_words

_BLANK = Examination(id="one", origin=Origin.PATIENT)


def imaged(examination: Examination) -> tuple[ImageWords, ...]:
    """Return every image of an examination in words, right knee before left."""
    return image_words(examination, load_lesions())


def set_aside(examination: Examination) -> tuple[ImageWords, ...]:
    """Return the images that tell nothing of this complaint, too old as they may be, and are not weighed."""
    old = tuple(each for each in examination.imaging if examination.set_aside(each))
    return imaged(replace(examination, imaging=old))


def said_of(image: Imaging) -> str:
    """Return what one image shows, in sentences."""
    return imaged(replace(_BLANK, imaging=(image,)))[0].text


def image_title(image: str) -> str:
    """Return the name of an image by its id, as it stands at the head of a line."""
    name = image_name(image)
    return name[:1].upper() + name[1:]


def is_image(reason: str) -> bool:
    """Say whether a reason of a conclusion is an image, and no sign."""
    return reason in list(ImageKind)
