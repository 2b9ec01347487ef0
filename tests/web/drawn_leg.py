"""A drawn leg whose angle is known: a thigh and a shin of one colour, on a plain ground."""

from __future__ import annotations

import io
import math

from PIL import Image, ImageDraw

SIZE = 900, 760
HIP, KNEE = (140, 250), (520, 250)
SHIN_PX = 380
FLEXION_DEG = 110.0
_TURN = math.radians(FLEXION_DEG)
ANKLE = (KNEE[0] + SHIN_PX * math.cos(_TURN), KNEE[1] + SHIN_PX * math.sin(_TURN))
POINTS = {"trochanter": HIP, "epicondyle": KNEE, "malleolus": ANKLE}
"""Its landmarks in pixels."""


def drawn_leg(kind: str = "JPEG") -> bytes:
    """Return the picture as a file."""
    image = Image.new("RGB", SIZE, (214, 205, 188))
    pen = ImageDraw.Draw(image)
    for start, end, wide in ((HIP, KNEE, 120), (KNEE, ANKLE, 84)):
        pen.line((start, end), fill=(178, 140, 112), width=wide)
        for x, y in (start, end):
            pen.ellipse((x - wide / 2, y - wide / 2, x + wide / 2, y + wide / 2), fill=(178, 140, 112))
    for x, y in POINTS.values():
        pen.ellipse((x - 6, y - 6, x + 6, y + 6), fill=(60, 44, 36))
    file = io.BytesIO()
    image.save(file, format=kind, quality=85)
    return file.getvalue()
