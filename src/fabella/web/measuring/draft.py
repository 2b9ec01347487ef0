"""A picture between being chosen and being kept: it travels with its page, sealed, and lies nowhere else."""

from __future__ import annotations

import base64
import io
import json
from dataclasses import dataclass

from django.core.signing import BadSignature, Signer
from PIL import Image

from fabella.errors import InputError
from fabella.measure import Frame, LimbSide, View, view_of
from fabella.picture import Picture, read_picture

LONGEST_PX = 1600
"""Of the side of a picture that is measured on: a long leg has some 1.5 pixels a millimetre (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """A picture that is being measured on.

    ``jpeg`` holds nothing but its pixels, which are square; ``sealed`` is all of it as text that nobody can
    alter, bound to one visit.
    """

    view: View
    side: LimbSide
    jpeg: bytes
    frame: Frame
    remarks: tuple[str, ...]
    sealed: str

    @property
    def address(self) -> str:
        """The picture as an address that holds it."""
        return f"data:image/jpeg;base64,{base64.b64encode(self.jpeg).decode('ascii')}"


def begin_draft(content: bytes, *, name: str, view: View, side: LimbSide, visit_id: int) -> Draft:
    """Return a file as a draft, of bounded size; raise `InputError` when it holds no picture to be read."""
    picture = read_picture(content, name=name)
    made, frame = _square(picture)
    jpeg = Picture(image=made, frame=frame, kind=picture.kind).jpeg(longest_px=LONGEST_PX)
    told = {
        "view": view.id,
        "side": side,
        "mm_per_px": frame.mm_per_px,
        "remarks": list(picture.remarks),
    }
    parts = (base64.urlsafe_b64encode(json.dumps(told).encode()), base64.urlsafe_b64encode(jpeg))
    sealed = _signer(visit_id).sign("~".join(each.decode("ascii") for each in parts))
    return Draft(view=view, side=side, jpeg=jpeg, frame=frame, remarks=picture.remarks, sealed=sealed)


def open_draft(sealed: str, *, visit_id: int) -> Draft:
    """Return the draft that a page sends back; raise `InputError` when it is not as it was given."""
    try:
        told, packed = _signer(visit_id).unsign(sealed).split("~")
    except (BadSignature, ValueError):
        raise InputError.of(
            place="picture", says="is not as it was sent", remedy="choose the picture again"
        ) from None
    tree = json.loads(base64.urlsafe_b64decode(told))
    jpeg = base64.urlsafe_b64decode(packed)
    with Image.open(io.BytesIO(jpeg)) as image:
        frame = Frame(width_px=image.width, height_px=image.height, mm_per_px=tree["mm_per_px"])
    return Draft(
        view=view_of(tree["view"]),
        side=tree["side"],
        jpeg=jpeg,
        frame=frame,
        remarks=tuple(tree["remarks"]),
        sealed=sealed,
    )


def _square(picture: Picture) -> tuple[Image.Image, Frame]:
    """Return a picture with square pixels and at most `LONGEST_PX` a side, and its scale then."""
    frame = picture.frame
    across, down = frame.width_px * frame.pixel_width, frame.height_px
    share = min(1.0, LONGEST_PX / max(across, down))
    size = max(1, round(across * share)), max(1, round(down * share))
    made = picture.image.resize(size, Image.Resampling.LANCZOS)
    scale = frame.mm_per_px and frame.mm_per_px * down / size[1]
    return made, Frame(width_px=size[0], height_px=size[1], mm_per_px=scale)


def _signer(visit_id: int) -> Signer:
    return Signer(salt=f"fabella.picture of visit {visit_id}")
