"""Images that were there before the conclusion, in words: what was taken when, and what it shows."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from fabella.anatomy import Lesions, Side, load_lesions
from fabella.evidence.knowledge import load_knowledge
from fabella.record import Examination, ImageKind, Imaging, Origin, SetAside
from fabella.report.wording import listed, sentence, written_date
from fabella.workup import Conclusion

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
_NO_DAY = "day not stated"
_LIMITED = "of limited value"
_SET_ASIDE = {
    SetAside.LIMITED: f"{_LIMITED}: it rules nothing out, and is not weighed",
    SetAside.BEFORE_OPERATION: "from before the operation, and not weighed",
    SetAside.BEFORE_COMPLAINT: "from before this complaint, and not weighed",
    SetAside.TOO_OLD: "too old to tell of today, and not weighed",
}


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


def image_words(
    examination: Examination, lesions: Lesions, conclusion: Conclusion | None = None
) -> tuple[ImageWords, ...]:
    """Return every image of an examination in words, right knee before left.

    What an image shows and no table lists for it is told not to be weighed, as is, by the ``conclusion``,
    what such a knee cannot have: wear of the cartilage in one that was replaced.
    """
    ordered = sorted(examination.imaging, key=lambda each: list(Side).index(each.side))
    return tuple(
        ImageWords(
            image=each.image,
            side=each.side,
            name=image_place(each),
            text=" ".join(map(sentence, _told(each, examination, lesions, conclusion))),
        )
        for each in ordered
    )


def image_place(image: Imaging) -> str:
    """Return what was taken, and of which knee: ``Right knee, MRI``."""
    return f"{image.side.capitalize()} knee, {image_name(image.image)}"


def said_of(image: Imaging) -> str:
    """Return what one image by itself shows, in sentences."""
    alone = Examination(id="one", origin=Origin.PATIENT, imaging=(image,))
    return image_words(alone, load_lesions())[0].text


def image_title(image: str) -> str:
    """Return the name of an image by its id, as it stands at the head of a line."""
    name = image_name(image)
    return name[:1].upper() + name[1:]


def seen_on(image: str, *, shown: bool) -> str:
    """Return an image as a reason: ``seen on MRI``, ``not seen on plain radiographs``."""
    return f"{'' if shown else 'not '}seen on {image_name(image)}"


def _told(
    image: Imaging, examination: Examination, lesions: Lesions, conclusion: Conclusion | None
) -> Iterator[str]:
    shows = UNREAD if image.shows is None else listed([lesions[each].name for each in image.shows]) or NOTHING
    yield f"{shows}; {_NO_DAY}" if image.on is None else f"{written_date(image.on)}: {shows}"
    if image.words:
        yield f"report: “{' '.join(image.words.split())}”"
    why = examination.set_aside(image)
    if image.limited and why is not SetAside.LIMITED:
        yield _LIMITED
    if why is SetAside.LIMITED and image.shows:
        yield f"{_LIMITED}: what it shows is acted on, what it does not show may be there; not weighed"
        return
    if why:
        yield _SET_ASIDE[why]
        return
    untold = [each for each in image.shows or () if (image.image, each) not in _weighed()]
    if untold:
        names = listed([lesions[each].name for each in untold])
        yield f"not weighed: {names}, as no table says how well {image_name(image.image)} tells it"
    if conclusion is not None:
        priors = {each.lesion: each.prior for each in conclusion.knee(image.side).any_level()}
        barred = [each for each in image.shows or () if each not in untold and priors.get(each) == 0]
        if barred:
            names = listed([lesions[each].name for each in barred])
            yield f"not weighed: {names}, which such a knee cannot have"


@cache
def _weighed() -> frozenset[tuple[str, str]]:
    """Return each image with each lesion of which a table says how well it shows it."""
    return frozenset((row.image, row.lesion) for row in load_knowledge().images)
