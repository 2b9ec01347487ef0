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
from pydicom.errors import InvalidDicomError
from pydicom.pixels.processing import apply_modality_lut, apply_voi_lut

from fabella.errors import InputError, Problem
from fabella.measure import Frame
from fabella.picture.limits import check_size
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
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of attributes against the standard, which are not used
        try:
            data = dcmread(io.BytesIO(content))
            told = {key: data.get(key) for key in _WANTED}
        except (InvalidDicomError, OSError, ValueError, KeyError, AttributeError, EOFError, TypeError):
            raise _refusal(
                name, "is a damaged DICOM file", "send it again from the archive of pictures"
            ) from None
        if "PixelData" not in data or not told["Rows"] or not told["Columns"]:
            raise _refusal(name, "is a DICOM file without a picture", "name the file of the radiograph")
        if int(told["NumberOfFrames"] or 1) > 1:
            raise _refusal(name, "holds a series of pictures", "send the one picture to be measured on")
        check_size(name, width_px=int(told["Columns"]), height_px=int(told["Rows"]))
        image = Image.fromarray(_shown(data, name=name))
    frame, remarks = _frame(told, width_px=image.width, height_px=image.height)
    if told["BurnedInAnnotation"] == "YES":
        remarks += (BURNED_IN,)
    return Picture(image=image, frame=frame, kind="DICOM", remarks=remarks)


def _shown(data: Dataset, *, name: str) -> NDArray[np.uint8]:
    try:
        stored = data.pixel_array
        if stored.ndim > _GREY:
            return stored.astype(np.uint8)
        grey = np.asarray(apply_voi_lut(apply_modality_lut(stored, data), data), dtype=np.float64)
    except (RuntimeError, NotImplementedError, ImportError):
        syntax = getattr(data.file_meta, "TransferSyntaxUID", None) if hasattr(data, "file_meta") else None
        kind = getattr(syntax, "name", "") or "an unknown way"
        raise _refusal(
            name, f"is compressed as {kind}, which cannot be read here", "send it without compression"
        ) from None
    except (ValueError, AttributeError, KeyError, TypeError, IndexError, OSError):
        raise _refusal(
            name, "is damaged or ends too early", "send it again from the archive of pictures"
        ) from None
    low, high = float(grey.min()), float(grey.max())
    share = (grey - low) / (high - low) if high > low else np.zeros_like(grey)
    if data.get("PhotometricInterpretation") == "MONOCHROME1":  # the least value is white
        share = 1 - share
    return np.round(255 * share).astype(np.uint8)


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


def _number(value: object) -> float | None:
    try:
        number = float(value)  # type: ignore[arg-type]  # whatever the file holds
    except (TypeError, ValueError):
        return None
    return number if np.isfinite(number) and number > 0 else None


def _refusal(name: str, says: str, remedy: str) -> InputError:
    return InputError([Problem(place=name, value="", says=says, remedy=remedy)])
