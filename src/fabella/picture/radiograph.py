"""A radiograph: one DICOM picture, shown as its file asks, with the scale that its file tells.

Attributes are those of the standard (DICOM PS3.3, C.7.6.3, C.8.11 and 10.7); nothing of the patient is read.
"""

from __future__ import annotations

import io
import logging
import warnings
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from pydicom import Dataset, dcmread
from pydicom.pixels.processing import apply_modality_lut, apply_voi_lut
from pydicom.uid import UID, DeflatedExplicitVRLittleEndian

from fabella.measure import Frame
from fabella.picture.limits import check_size, refusal
from fabella.picture.picture import Picture

_GREY = 2  # a grey picture is rows and columns, one of colours has a third dimension
_WANTED = (
    "Rows",
    "Columns",
    "PixelSpacing",
    "PixelSpacingCalibrationType",
    "ImagerPixelSpacing",
    "EstimatedRadiographicMagnificationFactor",
    "PixelAspectRatio",
    "BurnedInAnnotation",
    "PhotometricInterpretation",
    "NumberOfFrames",
)

_DEFLATED = DeflatedExplicitVRLittleEndian.encode("ascii")
"""The only compression that would be undone before anything is known of the file (DICOM PS3.5, A.5)."""

logging.getLogger("pydicom").setLevel(logging.CRITICAL)  # what is wrong with a file is said once, by us

NO_SCALE = "The file tells no pixel spacing: angles only, no millimetres."
AT_DETECTOR = "The scale is that of the detector: a limb before it is enlarged, millimetres are too many."
BURNED_IN = "The file says that writing is part of the picture: see that it names nobody before it goes on."


def read_radiograph(content: bytes, *, name: str) -> Picture:
    """Return a radiograph as shades of grey, white bone on black.

    Raises
    ------
    InputError
        When the file is damaged, holds no picture or several, claims too many pixels, or is compressed in a
        way that cannot be read here.
    """
    if _DEFLATED in content:
        raise refusal(
            name, "is compressed as a whole, and may be endless unpacked", "send it without compression"
        )
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of attributes against the standard, which are not used
        data, told = _opened(content, name=name)
        rows, columns, frames = (_whole(told[key]) for key in ("Rows", "Columns", "NumberOfFrames"))
        if "PixelData" not in data or not rows or not columns:
            raise refusal(name, "is a DICOM file without a picture", "name the file of the radiograph")
        if frames is not None and frames > 1:
            raise refusal(name, "holds a series of pictures", "send the one picture to be measured on")
        check_size(name, width_px=columns, height_px=rows)
        image = Image.fromarray(_shown(data, name=name))
    frame, remarks = _frame(told, width_px=image.width, height_px=image.height)
    if told["BurnedInAnnotation"] == "YES":
        remarks += (BURNED_IN,)
    return Picture(image=image, frame=frame, kind="DICOM", remarks=remarks)


def _opened(content: bytes, *, name: str) -> tuple[Dataset, dict[str, object]]:
    """Return a file and what it tells of its picture; a damaged one fails in any way at all."""
    try:
        data = dcmread(io.BytesIO(content))
        return data, {key: data.get(key) for key in _WANTED}
    except Exception:  # noqa: BLE001  the library promises no kind of error for bytes that are no DICOM
        raise refusal(name, "is a damaged DICOM file", "send it again from the archive of pictures") from None


def _shown(data: Dataset, *, name: str) -> NDArray[np.uint8]:
    """Return the picture from black to white, as its file asks for it to be shown."""
    try:
        stored = data.pixel_array
        if stored.ndim > _GREY:
            return stored.astype(np.uint8)
        grey = np.asarray(apply_voi_lut(apply_modality_lut(stored, data), data), dtype=np.float64)
        low, high = float(grey.min()), float(grey.max())
        share = (grey - low) / (high - low) if high > low else np.zeros_like(grey)
        if data.get("PhotometricInterpretation") == "MONOCHROME1":  # the least value is white
            share = 1 - share
        return np.round(255 * share).astype(np.uint8)
    except Exception as error:  # noqa: BLE001  as above
        if isinstance(error, RuntimeError) and (kind := _compression(data)):
            raise refusal(
                name, f"is compressed as {kind}, which cannot be read here", "send it without compression"
            ) from None
        raise refusal(
            name, "is damaged or ends too early", "send it again from the archive of pictures"
        ) from None


def _compression(data: Dataset) -> str:
    """Return the name of the compression of a file, empty for none or one that the standard does not know."""
    syntax = data.file_meta.get("TransferSyntaxUID")
    known = isinstance(syntax, UID) and syntax.is_transfer_syntax and syntax.is_compressed
    return str(syntax.name) if known and isinstance(syntax, UID) else ""


def _frame(told: dict[str, object], *, width_px: int, height_px: int) -> tuple[Frame, tuple[str, ...]]:
    """Return the frame by the spacing in the patient, else at the detector, else the shape of a pixel."""
    calibrated = _pair(told["PixelSpacing"])
    at_detector = _pair(told["ImagerPixelSpacing"])
    spacing = calibrated or at_detector
    if spacing is None:
        ratio = _pair(told["PixelAspectRatio"])  # height to width of a pixel
        width = 1.0 if ratio is None else ratio[1] / ratio[0]
        return Frame(width_px=width_px, height_px=height_px, pixel_width=width), (NO_SCALE,)
    down, across = spacing
    is_raw = calibrated is None or (calibrated == at_detector and not told["PixelSpacingCalibrationType"])
    magnified = _number(told["EstimatedRadiographicMagnificationFactor"]) if is_raw else None
    frame = Frame(
        width_px=width_px,
        height_px=height_px,
        pixel_width=across / down,
        mm_per_px=down / (magnified or 1.0),
    )
    return frame, (AT_DETECTOR,) if is_raw and magnified is None else ()


def _pair(value: object) -> tuple[float, float] | None:
    if not isinstance(value, Sequence) or isinstance(value, str) or len(value) != len(("down", "across")):
        return None
    first, second = _number(value[0]), _number(value[1])
    return (first, second) if first is not None and second is not None else None


def _whole(value: object) -> int | None:
    return value if isinstance(value, int) else None


def _number(value: object) -> float | None:
    try:
        number = float(value)  # type: ignore[arg-type]  # whatever the file holds
    except (TypeError, ValueError):
        return None
    return number if np.isfinite(number) and number > 0 else None
