"""How large a picture may be, as a small file can claim pixels without end, and how one is refused."""

from fabella.errors import InputError

MOST_BYTES = 100_000_000
"""Judgement: a long-leg film without compression has some 60 MB."""

MOST_PIXELS = 80_000_000
"""Judgement: a long-leg film has some 30 million pixels, a large photograph 50."""

SMALLER = "save the picture smaller; a side of 2000 pixels is plenty"


def check_size(name: str, *, width_px: int, height_px: int) -> None:
    """Raise `InputError` when a picture claims more than `MOST_PIXELS`, or none at all."""
    pixels = width_px * height_px
    if 0 < pixels <= MOST_PIXELS:
        return
    most = f", more than {MOST_PIXELS / 1e6:.0f} million" if pixels > 0 else ""
    raise refusal(name, f"claims {width_px} x {height_px} pixels{most}", SMALLER)


def refusal(name: str, says: str, remedy: str) -> InputError:
    """Return why a file is not taken as a picture, and what would be right."""
    return InputError.of(place=name, says=says, remedy=remedy)
