import io
import random
import struct
import tracemalloc
import zlib
from typing import Any

import numpy as np
import pytest
from PIL import Image
from pydicom.dataset import Dataset, FileMetaDataset
from pydicom.uid import (
    DeflatedExplicitVRLittleEndian,
    DigitalXRayImageStorageForPresentation,
    ExplicitVRLittleEndian,
    JPEGLSLossless,
    generate_uid,
)

from fabella.errors import InputError
from fabella.picture import MOST_BYTES, read_picture
from fabella.picture.radiograph import AT_DETECTOR, BURNED_IN, NO_SCALE

_NAME = "Doe^Invented"


def _bytes(image: Image.Image, kind: str, **more: Any) -> bytes:
    written = io.BytesIO()
    image.save(written, format=kind, **more)
    return written.getvalue()


def _halves() -> Image.Image:
    """Return a picture 40 wide and 20 high, red on its left and blue on its right."""
    image = Image.new("RGB", (40, 20), (255, 0, 0))
    image.paste((0, 0, 255), (20, 0, 40, 20))
    return image


def _film(pixels: np.ndarray[Any, np.dtype[np.uint16]], **more: Any) -> bytes:
    """Return a DICOM file of an invented person."""
    data = Dataset()
    data.file_meta = FileMetaDataset()
    data.file_meta.TransferSyntaxUID = more.pop("syntax", ExplicitVRLittleEndian)
    data.file_meta.MediaStorageSOPClassUID = DigitalXRayImageStorageForPresentation
    data.file_meta.MediaStorageSOPInstanceUID = generate_uid()
    data.SOPClassUID = data.file_meta.MediaStorageSOPClassUID
    data.SOPInstanceUID = data.file_meta.MediaStorageSOPInstanceUID
    data.PatientName, data.PatientID = _NAME, "invented-1"
    data.Modality = "DX"
    data.Rows, data.Columns = pixels.shape
    data.SamplesPerPixel, data.PhotometricInterpretation = 1, "MONOCHROME2"
    data.BitsAllocated, data.BitsStored, data.HighBit, data.PixelRepresentation = 16, 12, 11, 0
    data.PixelData = pixels.astype("<u2").tobytes()
    for key, value in more.items():
        setattr(data, key, value)
    written = io.BytesIO()
    data.save_as(written, enforce_file_format=True)
    return written.getvalue()


RAMP = np.arange(12, dtype=np.uint16).reshape(3, 4) * 300


def _refused(content: bytes) -> str:
    with pytest.raises(InputError) as refused:
        read_picture(content, name="knee.jpg")
    assert "\n" not in str(refused.value)
    return str(refused.value)


# ---------------------------------------------------------------- photographs


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_a_photograph_is_read_with_its_size(kind: str) -> None:
    """A picture of 40 by 20 pixels is one, without a scale and with square pixels."""
    picture = read_picture(_bytes(_halves(), kind), name="knee")
    assert (picture.frame.width_px, picture.frame.height_px) == (40, 20)
    assert (picture.frame.pixel_width, picture.frame.mm_per_px) == (1, None)
    assert picture.kind == kind


def test_the_camera_s_note_of_how_it_was_held_is_honoured() -> None:
    """Held on its side (orientation 6), a picture comes upright: its left edge has become the upper one."""
    exif = Image.Exif()
    exif[0x0112] = 6
    picture = read_picture(_bytes(_halves(), "JPEG", exif=exif, quality=95), name="knee")
    assert (picture.frame.width_px, picture.frame.height_px) == (20, 40)
    upper, lower = picture.image.getpixel((10, 5)), picture.image.getpixel((10, 35))
    assert isinstance(upper, tuple)
    assert isinstance(lower, tuple)
    assert upper[0] > 4 * upper[2]
    assert lower[2] > 4 * lower[0]


def test_nothing_the_camera_noted_goes_on() -> None:
    """Maker, place, comment and text of a photograph are in no picture that comes of it."""
    exif = Image.Exif()
    exif[0x010F], exif[0x9286], exif[0x8825] = "Invented Camera", "Jane Invented", {1: "N"}
    content = _bytes(_halves(), "JPEG", exif=exif, comment=b"Jane Invented")
    assert b"Invented" in content
    picture = read_picture(content, name="knee")
    assert not picture.image.info
    assert b"Invented" not in picture.jpeg()
    assert b"Exif" not in picture.jpeg()


def test_a_picture_goes_out_no_larger_than_asked_and_never_enlarged() -> None:
    """The longer side is as asked, and a small picture stays as it is."""
    picture = read_picture(_bytes(_halves(), "PNG"), name="knee")
    for longest, width in ((20, 20), (4000, 40)):
        with Image.open(io.BytesIO(picture.jpeg(longest_px=longest))) as again:
            assert again.width == width


@pytest.mark.parametrize("mode", ["1", "L", "P", "RGBA", "LA", "I;16", "CMYK"])
def test_every_kind_of_pixel_becomes_grey_or_colour(mode: str) -> None:
    """Black and white, palettes, transparency and 16 bits of grey are read, and can be written."""
    kind = "JPEG" if mode == "CMYK" else "PNG"
    picture = read_picture(_bytes(Image.new(mode, (8, 8)), kind), name="knee")
    assert picture.image.mode in {"L", "RGB"}
    assert picture.jpeg().startswith(b"\xff\xd8")


def test_sixteen_bits_of_grey_keep_their_shades() -> None:
    """Half of 65535 is half of white."""
    image = Image.new("I;16", (8, 8), 32768)
    grey = read_picture(_bytes(image, "PNG"), name="film").image.getpixel((4, 4))
    assert grey == pytest.approx(128, abs=1)


def test_what_is_no_picture_is_refused_in_one_line() -> None:
    """Text, an empty file and a PDF under the name of a picture are named for what they are not."""
    assert "holds no picture that can be read; save it as JPEG, PNG or DICOM" in _refused(b"%PDF-1.7 ...")
    assert "is empty" in _refused(b"")
    assert "holds no picture" in _refused(b"GIF89a" + bytes(40))


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
@pytest.mark.parametrize("share", [0.02, 0.1, 0.3, 0.5, 0.7, 0.9])
def test_a_photograph_that_ends_early_is_refused(kind: str, share: float) -> None:
    """A file cut off anywhere is damaged, never half a picture."""
    noise = Image.effect_noise((120, 90), 80)
    content = _bytes(noise, kind)
    said = _refused(content[: int(len(content) * share)] if share > 0.05 else content[:20])
    assert "damaged or ends too early" in said


def _claiming(width_px: int, height_px: int) -> bytes:
    """Return a PNG file of some fifty bytes that claims to be so large."""
    content = b"\x89PNG\r\n\x1a\n"
    header = struct.pack(">IIBBBBB", width_px, height_px, 8, 0, 0, 0, 0)
    for kind, inside in ((b"IHDR", header), (b"IDAT", zlib.compress(b""))):
        content += struct.pack(">I", len(inside)) + kind + inside
        content += struct.pack(">I", zlib.crc32(kind + inside))
    return content


def test_a_small_file_that_claims_endless_pixels_is_refused() -> None:
    """A PNG of a few bytes that says it is 60000 by 60000 pixels, or 10000 by 9000, is not unpacked."""
    assert "claims more pixels than any picture has" in _refused(_claiming(60000, 60000))
    assert "claims 10000 x 9000 pixels, more than 80 million" in _refused(_claiming(10000, 9000))


def test_a_file_that_is_too_large_is_refused() -> None:
    """More bytes than any film has are not even looked at."""
    assert "more than 100" in _refused(b"\xff\xd8\xff" + bytes(MOST_BYTES))


# ---------------------------------------------------------------- radiographs


def test_a_film_is_shown_from_black_to_white() -> None:
    """The least stored value is black and the greatest white, unless the file says the reverse."""
    plain = np.asarray(read_picture(_film(RAMP), name="film").image)
    turned = np.asarray(read_picture(_film(RAMP, PhotometricInterpretation="MONOCHROME1"), name="film").image)
    assert (plain[0, 0], plain[-1, -1]) == (0, 255)
    assert (turned[0, 0], turned[-1, -1]) == (255, 0)
    assert np.array_equal(plain, 255 - turned.astype(int))


def test_the_window_of_a_film_is_applied() -> None:
    """What lies below the window is black, what lies above it white."""
    film = _film(RAMP, WindowCenter=1650, WindowWidth=600)
    grey = np.asarray(read_picture(film, name="film").image).ravel()
    assert list(grey[:4]) == [0, 0, 0, 0]
    assert list(grey[-4:]) == [255, 255, 255, 255]


def test_calibrated_spacing_gives_millimetres() -> None:
    """Rows 0.2 mm and columns 0.1 mm apart: 0.2 mm to the height of a pixel, which is half as wide."""
    picture = read_picture(_film(RAMP, PixelSpacing=[0.2, 0.1], ImagerPixelSpacing=[0.22, 0.11]), name="film")
    assert picture.frame.mm_per_px == pytest.approx(0.2)
    assert picture.frame.pixel_width == pytest.approx(0.5)
    assert picture.remarks == ()


def test_spacing_at_the_detector_is_said_to_be_that() -> None:
    """Spacing of the detector alone, or copied from it, leaves the limb enlarged, and it is said."""
    for more in ({}, {"PixelSpacing": [0.14, 0.14]}):
        picture = read_picture(_film(RAMP, ImagerPixelSpacing=[0.14, 0.14], **more), name="film")
        assert picture.frame.mm_per_px == pytest.approx(0.14)
        assert picture.remarks == (AT_DETECTOR,)
    told = _film(RAMP, ImagerPixelSpacing=[0.14, 0.14], EstimatedRadiographicMagnificationFactor=1.12)
    picture = read_picture(told, name="film")
    assert picture.frame.mm_per_px == pytest.approx(0.125)
    assert picture.remarks == ()


def test_without_spacing_there_are_no_millimetres_but_the_shape_of_a_pixel() -> None:
    """An aspect ratio of 2 to 1 is a pixel half as wide as high."""
    picture = read_picture(_film(RAMP, PixelAspectRatio=[2, 1]), name="film")
    assert picture.frame.mm_per_px is None
    assert picture.frame.pixel_width == pytest.approx(0.5)
    assert picture.remarks == (NO_SCALE,)


def test_no_name_of_a_film_goes_on() -> None:
    """The patient's name is in the file, and in nothing that comes of it."""
    content = _film(RAMP, BurnedInAnnotation="YES")
    assert _NAME.encode() in content
    picture = read_picture(content, name="film")
    assert _NAME.encode() not in picture.jpeg()
    assert not picture.image.info
    assert BURNED_IN in picture.remarks


def test_films_that_cannot_be_read_say_why() -> None:
    """A series, a file without a picture, an unreadable compression and a damaged file are each named."""
    assert "series of pictures" in _refused(_film(RAMP, NumberOfFrames=3))
    assert "pixels, more than" in _refused(_film(RAMP, Rows=30000, Columns=30000))
    content = _film(RAMP)
    assert "damaged" in _refused(content[:-10])
    assert "without a picture" in _refused(content[: content.index(b"\xe0\x7f\x10\x00")])
    assert "JPEG-LS" in _refused(_encapsulated())
    assert "DICOM file without a picture" in _refused(bytes(128) + b"DICM" + b"\xff" * 300)


def test_a_small_film_that_unpacks_endlessly_is_not_unpacked() -> None:
    """A file that is compressed as a whole is refused by its head: 300 kB of it may be 300 MB in memory."""
    endless = _film(RAMP, syntax=DeflatedExplicitVRLittleEndian, PixelData=bytes(300_000_000))
    assert len(endless) < 400_000
    tracemalloc.start()
    try:
        assert "compressed as a whole" in _refused(endless)
        assert tracemalloc.get_traced_memory()[1] < 10_000_000
    finally:
        tracemalloc.stop()


def _encapsulated() -> bytes:
    """Return a DICOM file that claims a compression nothing here can undo."""
    item = b"\xfe\xff\x00\xe0"
    fragments = item + bytes(4) + item + struct.pack("<I", 4) + b"\x00\x01\x02\x03"
    end = b"\xfe\xff\xdd\xe0" + bytes(4)
    return _film(RAMP, syntax=JPEGLSLossless, PixelData=fragments + end)


def test_damaged_bytes_are_refused_or_read_and_nothing_else() -> None:
    """Files with some bytes changed, or cut, are read or refused in one line, whatever the damage."""
    dice = random.Random(20261127)
    whole = (
        _film(RAMP, PixelSpacing=[0.2, 0.1], WindowCenter=1650, WindowWidth=600),
        _encapsulated(),
        _bytes(_halves(), "JPEG"),
        _bytes(_halves(), "PNG"),
    )
    said: list[str] = []
    for _ in range(1200):
        damaged = bytearray(dice.choice(whole))
        for _ in range(dice.choice((1, 2, 8))):
            damaged[dice.randrange(len(damaged))] = dice.randrange(256)
        if dice.random() < 0.2:
            del damaged[dice.randrange(len(damaged)) :]
        try:
            read_picture(bytes(damaged), name="knee")
        except InputError as error:
            said.append(str(error))
    assert 100 < len(said) < 1200
    assert not [each for each in said if "\n" in each]
