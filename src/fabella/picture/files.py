"""Which kind of picture a file holds, told by its content and never by its name."""

from __future__ import annotations

from fabella.picture.limits import MOST_BYTES, SMALLER, refusal
from fabella.picture.photograph import read_photograph
from fabella.picture.picture import Picture

_DICOM_AT, _DICOM = 128, b"DICM"
_PHOTOGRAPHS = (b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n")


def read_picture(content: bytes, *, name: str) -> Picture:
    """Return the picture that a file holds.

    Parameters
    ----------
    content
        The whole file, at most `MOST_BYTES`.
    name
        What the file is called in a message.

    Raises
    ------
    InputError
        When it is no JPEG, PNG or DICOM file, damaged, larger than `MOST_BYTES` or `MOST_PIXELS`, or
        compressed in a way that cannot be read here.
    """
    if len(content) > MOST_BYTES:
        raise refusal(
            name,
            f"has {len(content) / 1e6:.0f} MB, more than {MOST_BYTES / 1e6:.0f}",
            SMALLER,
        )
    if not content:
        raise refusal(name, "is empty", "name a file that holds a picture")
    if content[_DICOM_AT : _DICOM_AT + len(_DICOM)] == _DICOM:
        from fabella.picture.radiograph import read_radiograph  # noqa: PLC0415  slow to load, seldom needed

        return read_radiograph(content, name=name)
    if content.startswith(_PHOTOGRAPHS):
        return read_photograph(content, name=name)
    raise refusal(name, "holds no picture that can be read", "save it as JPEG, PNG or DICOM")
