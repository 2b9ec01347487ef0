"""Images of a visit in words: all of them, and those that no conclusion takes into account."""

from __future__ import annotations

from dataclasses import replace

from fabella.anatomy import load_lesions
from fabella.record import Examination, ImageKind
from fabella.report.imaging_words import ImageWords, image_words


def imaged(examination: Examination) -> tuple[ImageWords, ...]:
    """Return every image of an examination in words, right knee before left."""
    return image_words(examination, load_lesions())


def set_aside(examination: Examination) -> tuple[ImageWords, ...]:
    """Return the images that are not weighed, too old or of limited value as they may be."""
    old = tuple(each for each in examination.imaging if examination.set_aside(each))
    return imaged(replace(examination, imaging=old))


def is_image(reason: str) -> bool:
    """Say whether a reason of a conclusion is an image, and no sign."""
    return reason in list(ImageKind)
