"""Which pictures were looked at, in plain words for the patient's page."""

from __future__ import annotations

from collections.abc import Iterator

from fabella.anatomy import Side
from fabella.record import Examination, ImageKind, Imaging

_PLAIN = {
    ImageKind.RADIOGRAPH: "the X-ray of your {side} knee",
    ImageKind.MRI: "the MRI scan of your {side} knee",
    ImageKind.CT: "the CT scan of your {side} knee",
    ImageKind.ULTRASOUND: "the ultrasound scan of your {side} knee",
    ImageKind.VEIN_ULTRASOUND: "the ultrasound scan of the veins in your {side} leg",
    ImageKind.CT_ANGIOGRAM: "the scan of the arteries in your {side} leg",
    ImageKind.HIP_RADIOGRAPH: "the X-ray of your hips",
    ImageKind.SPINE_MRI: "the MRI scan of your back",
}

_ASKS_FOR = {
    **dict.fromkeys(("adult_hip", "child_hip"), ImageKind.HIP_RADIOGRAPH),
    **dict.fromkeys(
        ("block_that_stayed", "lateral_side_torn", "meniscus_after_injury", "multiligament_injury"),
        ImageKind.MRI,
    ),
}
"""What a rule asks for in plain words where that is no film of the knee."""


def pictures(examination: Examination) -> Iterator[str]:
    """Yield a sentence for each picture of this complaint: that it was looked at, or has yet to be."""
    sentences = dict.fromkeys(_sentence(each) for side in Side for each in examination.images_seen(side))
    for place, each in enumerate(sentences):
        yield each.replace("We looked", "We also looked") if place else each


def films_state(examination: Examination, side: Side | None, rule: str) -> str:
    """Return whether what the plain words of a rule ask for is there: ``read``, ``unread``, or empty."""
    image = _ASKS_FOR.get(rule, ImageKind.RADIOGRAPH)
    images = () if side is None else examination.images_of(side)
    shows = [each.shows for each in images if each.image is image]
    if not shows:
        return ""
    return "unread" if None in shows else "read"


def _sentence(image: Imaging) -> str:
    what = _PLAIN[image.image].format(side=image.side)
    if image.shows is None:
        return f"We still have to look at {what}."
    unclear = " It is not clear enough to be sure." if image.limited else ""
    return f"We looked at {what}.{unclear}"
