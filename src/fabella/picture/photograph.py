"""A photograph: JPEG or PNG, turned upright as the camera noted, and stripped of all else it noted."""

from __future__ import annotations

import io
import warnings

from PIL import Image, ImageOps, UnidentifiedImageError

from fabella.measure import Frame
from fabella.picture.limits import check_size, refusal
from fabella.picture.picture import Picture

_FORMATS = ("JPEG", "PNG")
_PAPER = (255, 255, 255)


def read_photograph(content: bytes, *, name: str) -> Picture:
    """Return a photograph; what is transparent becomes white.

    Raises
    ------
    InputError
        When the file is damaged, ends early, or claims too many pixels.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # a size beyond its liking is refused here
            with Image.open(io.BytesIO(content), formats=_FORMATS) as opened:
                kind = "PNG" if opened.format == "PNG" else "JPEG"
                check_size(name, width_px=opened.width, height_px=opened.height)
                upright = ImageOps.exif_transpose(opened)
                image = _plain(upright)
    except Image.DecompressionBombError:
        raise refusal(name, "claims more pixels than any picture has", "save the picture smaller") from None
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError, EOFError):
        raise refusal(name, "is damaged or ends too early", "copy it again from where it came") from None
    return Picture(image=image, frame=Frame(width_px=image.width, height_px=image.height), kind=kind)


def _plain(image: Image.Image) -> Image.Image:
    """Return a new picture of the pixels alone."""
    if image.mode in {"RGBA", "LA", "PA"} or "transparency" in image.info:
        coloured = image.convert("RGBA")
        ground = Image.new("RGB", image.size, _PAPER)
        ground.paste(coloured, mask=coloured.getchannel("A"))
        return ground
    if image.mode.startswith("I;16"):  # 16 bits of grey
        image = image.point(lambda value: value / 256)
    converted = image.convert("L" if image.mode in {"1", "L", "I", "I;16"} else "RGB")
    bare = Image.new(converted.mode, converted.size)
    bare.paste(converted)
    return bare
