"""The plate: both knees from the front, as the examiner faces the patient, with what was found on them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from fabella.anatomy import Side
from fabella.report.curves import number
from fabella.report.for_parents import to_patient
from fabella.report.insets import motion
from fabella.report.labels import SIZE_MM
from fabella.report.plate_knee import CENTRES_MM, PlateKnee, plate_knee
from fabella.report.readings import Outcome, Readings
from fabella.report.svg import svg_template
from fabella.report.wording import counted, described, listed, lowered

WIDTH_MM, HEIGHT_MM = 160.0, 83.0
_BELOW_MM = 5.5  # more when there are words below the drawing
_PLAIN_MM = 79.0  # without the key
_MEASURED = frozenset({"tape", "pouch"})  # marks that say nothing without their label

PALETTE = {"paper": "#f6f0e2", "ink": "#2b2622", "soft": "#857868", "accent": "#8c3a2b"}
"""Warm paper, warm black and one oxide red, which all read in grey; shapes and words carry the meaning."""

_INK, _SOFT = PALETTE["ink"], PALETTE["soft"]
_TONES = {"skin": "#efe4cf", "bone": "#fbf7ec", "cartilage": "#e2d9c6", "tendon": "#f4ecdb",
          "ink": _INK, "hatch": _INK, "soft": _SOFT, "soft hatch": _SOFT}  # fmt: skip
_LEGEND = (
    ("tender", 8.0, "tender"), ("provoked", 26.5, "provoked by a test"), ("seen", 58.0, "seen or felt"),
    ("swelling", 82.5, "joint swollen"), ("arrow", 108.5, "moves too far"), ("ghost", 135.5, "other knee"),
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Plate:
    """Everything printed on the plate; ``description`` says in words all that the drawing shows."""

    title: str
    description: str
    knees: tuple[PlateKnee, ...]
    legend: tuple[tuple[str, float, str], ...] = _LEGEND
    width_mm: float = WIDTH_MM
    height_mm: float = HEIGHT_MM
    stripes: str = ""
    title_mm: float = 3.7

    @property
    def is_tall(self) -> bool:
        """Whether there are words below the drawing, as the template asks."""
        return self.height_mm > HEIGHT_MM


def build_plate(readings: Readings) -> Plate:
    """Return the plate of both knees for what was found."""
    stripes = "".join(f"M{number(x)} 42l30 -38" for x in (2 + 1.3 * step for step in range(-24, 124)))
    knees = tuple(plate_knee(readings, side) for side in CENTRES_MM)
    return Plate(
        title="Both knees from the front, as the examiner faces the patient",
        description=" ".join(_knee_in_words(readings, side) for side in CENTRES_MM),
        knees=knees,
        height_mm=HEIGHT_MM + (_BELOW_MM if any(knee.below for knee in knees) else 0.0),
        stripes=stripes,
    )


def build_plain_plate(
    readings: Readings, *, description: str, say: Callable[[str], str] = to_patient
) -> Plate:
    """Return the same drawing for a patient: marks without names, as the page says in words what was found.

    ``description`` stands for it where it cannot be seen; ``say`` tells how titles are said. Measured girths,
    axes and ranges are left out; a shin that slides is shown.
    """
    plate = build_plate(readings)
    knees = tuple(
        replace(
            knee,
            title=say(f"Your {knee.side} knee"),
            status="",
            axes=(),
            marks=tuple(each for each in knee.marks if each.kind not in _MEASURED),
            labels=(),
            below=(),
            insets=tuple(replace(each, captions=()) for each in knee.insets if each.heads),
        )
        for knee in plate.knees
    )
    title = say("Your knees, as we see them when we face you")
    return replace(
        plate,
        title=title,
        description=description,
        knees=knees,
        legend=(),
        height_mm=_PLAIN_MM,
        title_mm=5.4,
    )


def render_plate(plate: Plate, *, ident: str = "plate") -> str:
    """Return the plate as an SVG document.

    Parameters
    ----------
    plate
        What to print.
    ident
        Start of the ids within the document, so that several plates may stand on one page.
    """
    return svg_template("fabella.report", "plate").render(
        plate=plate, ident=ident, tones=_TONES, type_mm=SIZE_MM, **PALETTE
    )


def _knee_in_words(readings: Readings, side: Side) -> str:
    """Everything the drawing shows of one knee, and what it leaves out."""
    knee = f"{side.capitalize()} knee"
    if not readings.examined(side):
        return f"{knee}: not examined."
    abnormal = readings.with_outcome(Outcome.ABNORMAL, side)
    refused = readings.with_outcome(Outcome.COULD_NOT_BE_TESTED, side)
    unjudged = readings.with_outcome(Outcome.UNJUDGED, side)
    normal = len(readings.with_outcome(Outcome.NORMAL, side))
    parts = [
        f"{knee}: "
        + ("abnormal: " + "; ".join(map(described, abnormal)) if abnormal else "nothing abnormal recorded"),
    ]
    if normal:
        parts.append(f"{counted(normal, 'sign')} normal")
    if unjudged:
        parts.append("recorded: " + "; ".join(map(described, unjudged)))
    if refused:
        parts.append("could not be tested: " + listed([lowered(each.name) for each in refused]))
    if span := motion(readings, side):
        parts.append(f"range of motion {span.words}")
    return ". ".join(parts) + "."
