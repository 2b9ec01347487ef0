"""Pictures of a limb: photographs and radiographs read from their files, without what names a person."""

from fabella.picture.files import read_picture
from fabella.picture.limits import MOST_BYTES, MOST_PIXELS
from fabella.picture.picture import Picture

__all__ = ["MOST_BYTES", "MOST_PIXELS", "Picture", "read_picture"]
