"""A picture as it is looked at, and what its file tells of its scale."""

from __future__ import annotations

import io
from dataclasses import dataclass

from PIL import Image

from fabella.measure import Frame

_QUALITY = 88


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A photograph or a radiograph, upright, in grey or in red, green and blue.

    Parameters
    ----------
    image
        The pixels, with nothing of what else the file held: no name, place, time or device.
    frame
        Its size, and the scale and shape of its pixels.
    kind
        What it was read as: ``JPEG``, ``PNG`` or ``DICOM``.
    remarks
        What a reader of a measurement should know of the file, one sentence each.
    """

    image: Image.Image
    frame: Frame
    kind: str
    remarks: tuple[str, ...] = ()

    def jpeg(self, *, longest_px: int = 1600) -> bytes:
        """Return the picture as a JPEG file without any further data.

        Parameters
        ----------
        longest_px
            Length of the longer side, above 0; a smaller picture is not enlarged.
        """
        pixels = self.image.copy()
        pixels.thumbnail((longest_px, longest_px), Image.Resampling.LANCZOS)
        written = io.BytesIO()
        pixels.save(written, format="JPEG", quality=_QUALITY)
        return written.getvalue()
