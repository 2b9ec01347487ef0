"""The views that are photographed, and where every error in them comes from.

Limb lengths of an adult: thigh 0.245 and shank 0.246 of a stature of 1.70 m (Drillis and Contini 1966, from
memory); the others are judgement. What a limb can look like (``proportion``, and ``low`` and ``high`` within
the range of the protocol) is judgement too: it is wide, and only catches points placed on the wrong spot.
"""

from fabella.measure.landmarks import (
    ANKLE,
    EPICONDYLE,
    HEEL,
    HOLLOW,
    ILIAC_SPINE,
    MALLEOLUS,
    PATELLA,
    SECOND_TOE,
    THIGH,
    TOES,
    TROCHANTER,
    TUBERCLE,
)
from fabella.measure.points import Arm
from fabella.measure.quantities import Quantity, Sense, Turn
from fabella.measure.views import Medium, SeenFrom, View

# ---------------------------------------------------------------- from the side

_THIGH: Arm = ("trochanter", "epicondyle")
_SHIN: Arm = ("epicondyle", "malleolus")
_FROM_SIDE = (
    "Camera at the height of the knee, two metres away and square to the limb, both joints and the foot in "
    "the picture, the landmarks marked on the skin. "
)
_SIDE_ERROR = (
    "derived: photographs and a goniometer differ by less than 2.35 degrees on average (38 replaced knees, "
    "Murphy 2013, 10.4236/ojo.2013.31002), which is 2.1 degrees for each if they err alike"
)

BENT_KNEE = View(
    id="bent_knee",
    name="Bent knee from the side",
    medium=Medium.PHOTOGRAPH,
    seen_from=SeenFrom.SIDE,
    taking=_FROM_SIDE + "The knee as far bent as it goes: by its own muscles, or carried on by a hand.",
    landmarks=(TROCHANTER, EPICONDYLE, MALLEOLUS),
    quantities=(
        Quantity(
            id="flexion",
            name="Flexion",
            signs=("passive_flexion", "active_flexion"),
            positive="bent from straight",
            low=10,  # a straighter knee needs the foot, to tell bent from beyond straight
            high=170,
            formula=Turn(_THIGH, _SHIN, Sense.EITHER),
            method_error=2.1,
            source=_SIDE_ERROR,
        ),
    ),
    segments=(_THIGH, _SHIN),
    adult_mm=835,
    proportion=(0.6, 1.7),
)

STRAIGHT_KNEE = View(
    id="straight_knee",
    name="Straight knee from the side",
    medium=Medium.PHOTOGRAPH,
    seen_from=SeenFrom.SIDE,
    taking=_FROM_SIDE + "Lying with the heel on a low block, the knee as straight as it goes.",
    landmarks=(TROCHANTER, EPICONDYLE, MALLEOLUS, TOES),
    quantities=(
        Quantity(
            id="extension",
            name="Extension",
            signs=("passive_extension",),
            positive="hyperextension; what is missing to straight is negative",
            low=-90,
            high=30,
            formula=Turn(_THIGH, _SHIN, Sense.STRAIGHTENING),
            method_error=2.1,
            source=_SIDE_ERROR,
        ),
        Quantity(
            id="missing",
            name="Missing to straight",
            signs=("fixed_flexion",),
            positive="short of straight; beyond straight it is negative, and no fixed flexion",
            low=-30,
            high=90,
            formula=Turn(_THIGH, _SHIN, Sense.BENDING),
            method_error=2.1,
            source=_SIDE_ERROR,
        ),
    ),
    segments=(_THIGH, _SHIN),
    adult_mm=835,
    proportion=(0.6, 1.7),
)

HAMSTRINGS = View(
    id="hamstrings",
    name="Hip at a right angle, knee straightened, from the side",
    medium=Medium.PHOTOGRAPH,
    seen_from=SeenFrom.SIDE,
    taking=_FROM_SIDE + "Lying, the hip held at a right angle, the knee straightened to its first firm stop.",
    landmarks=(TROCHANTER, EPICONDYLE, MALLEOLUS),
    quantities=(
        Quantity(
            id="popliteal",
            name="Popliteal angle",
            signs=("popliteal_angle",),
            positive="missing to straight",
            low=0,
            high=110,
            formula=Turn(_THIGH, _SHIN, Sense.EITHER),
            method_error=4.0,
            source=(
                "judgement: as for a goniometer; in children with cerebral palsy changes below 10 to 23 "
                "degrees on photographs of three joints are error, 3.6 to 8.3 degrees each (Johansen 2020, "
                "10.1097/PEP.0000000000000689)"
            ),
        ),
    ),
    segments=(_THIGH, _SHIN),
    adult_mm=835,
    proportion=(0.6, 1.7),
)

# ---------------------------------------------------------------- from the front and from behind

STANDING_FRONT = View(
    id="standing_front",
    name="Standing, from the front",
    medium=Medium.PHOTOGRAPH,
    seen_from=SeenFrom.FRONT,
    taking=(
        "Camera upright at the height of the knees, three metres away; the patient stands with the patellae "
        "to the front, since turning the leg changes the angle, and with the iliac spines marked on the "
        "skin."
    ),
    landmarks=(ILIAC_SPINE, PATELLA, ANKLE),
    quantities=(
        Quantity(
            id="tibiofemoral",
            name="Tibiofemoral angle",
            signs=("tibiofemoral_angle",),
            positive="valgus; varus is negative",
            low=-40,
            high=40,
            formula=Turn(("iliac_spine", "patella"), ("patella", "ankle"), Sense.OUTWARDS),
            method_error=2.0,
            source=(
                "judgement: no standard error published; placing the marks anew agrees with ICC 0.903 (50 "
                "adults, Sheehy 2015), a turned leg with 0.658 (Determining knee joint alignment using "
                "digital photographs)"
            ),
        ),
    ),
    segments=(("iliac_spine", "patella"), ("patella", "ankle")),
    adult_mm=950,
    proportion=(0.75, 2.0),
    downwards=("iliac_spine", "patella", "ankle"),
)

Q_ANGLE = View(
    id="q_angle",
    name="Straight knee from the front, with the iliac spine",
    medium=Medium.PHOTOGRAPH,
    seen_from=SeenFrom.FRONT,
    taking=(
        "Lying or standing with the knee straight, the quadriceps slack and the patella to the front; camera "
        "square to the thigh, with iliac spine, patella and tubercle marked on the skin and in the picture."
    ),
    landmarks=(ILIAC_SPINE, PATELLA, TUBERCLE),
    quantities=(
        Quantity(
            id="q",
            name="Q angle",
            signs=("q_angle",),
            positive="tubercle lateral to the line of pull",
            low=-10,
            high=45,
            formula=Turn(("iliac_spine", "patella"), ("patella", "tubercle"), Sense.OUTWARDS),
            method_error=1.0,
            source=(
                "published: 1.0 degree with a goniometer, 48 hours apart, 52 lean adults (Reliability of "
                "goniometry-based Q-angle, PM R 2013); none for photographs"
            ),
        ),
    ),
    segments=(("iliac_spine", "patella"), ("patella", "tubercle")),
    adult_mm=576,  # derived: 520 and 56, by what 1 mm changes in France and Nester 2001
    proportion=(4.0, 20.0),
)

THIGH_FOOT = View(
    id="thigh_foot",
    name="Prone with the knee at 90 degrees, from above",
    medium=Medium.PHOTOGRAPH,
    seen_from=SeenFrom.ABOVE,
    taking=(
        "Prone, knee at a right angle and shin upright; camera straight above the knee, as high as may be. "
        "For the thigh-foot angle the foot hangs as it will, for the dial test it is turned out."
    ),
    landmarks=(THIGH, HOLLOW, HEEL, SECOND_TOE),
    quantities=(
        Quantity(
            id="thigh_foot",
            name="Thigh-foot angle",
            signs=("thigh_foot_angle", "dial_90"),
            positive="foot outwards; inwards is negative",
            low=-60,
            high=90,
            formula=Turn(("thigh", "hollow"), ("heel", "second_toe"), Sense.OUTWARDS),
            method_error=3.5,
            source="judgement: as for a goniometer; no error published",
        ),
    ),
    segments=(("thigh", "hollow"), ("heel", "second_toe")),
    adult_mm=550,
    proportion=(0.5, 4.0),
)
