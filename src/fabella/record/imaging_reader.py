"""Images of a knee, read against the lists of what can be taken and of what it can show."""

from __future__ import annotations

from datetime import date

from fabella.anatomy import Side, load_lesions
from fabella.record.imaging import ImageKind, Imaging
from fabella.record.layout import IMAGING_KEYS, PROSE
from fabella.record.section import Section


def read_imaging(top: Section, *, until: date) -> tuple[Imaging, ...]:
    """Return the images of an examination; wrong ones, as a day after ``until``, are noted and left out."""
    images: dict[tuple[ImageKind, Side], Imaging] = {}
    for place, written in enumerate(top.members("imaging")):
        section = Section(written, place=f"imaging[{place}]", keys=IMAGING_KEYS, notes=top.notes)
        if not section.is_object:
            continue
        section.require("image", f"allowed: {', '.join(ImageKind)}")
        section.require("side", "the knee it was taken for: right or left")
        image, side = section.choice("image", ImageKind), section.choice("side", Side)
        on = section.day("on", until=until, beyond="lies after the examination")
        shows = _shown(section) if section.given("shows") else None
        limited = section.boolean("limited") is True
        words = section.text("words", PROSE)
        if image is None or side is None:
            continue
        if (image, side) in images:
            top.notes.add(section.place, image, f"is stated twice for the {side} knee", "keep the latest")
        images[image, side] = Imaging(
            image=image, side=side, on=on, shows=shows, limited=limited, words=words
        )
    return tuple(images.values())


def _shown(section: Section) -> tuple[str, ...]:
    lesions: list[str] = []
    known = tuple(load_lesions())
    for place, written in enumerate(section.members("shows")):
        at = f"{section.at('shows')}[{place}]"
        if not isinstance(written, str) or written not in known:
            section.notes.add(at, written, "is no lesion", section.notes.nearest(str(written), known))
        elif written in lesions:
            section.notes.add(at, written, "stands here more than once", "keep one")
        else:
            lesions.append(written)
    return tuple(lesions)
