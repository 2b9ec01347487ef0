"""The views that are taken on film, standing, and where every error in them comes from.

Femur and tibia together 800 mm in an adult, and what a limb can look like: judgement, wide, only to catch
points placed on the wrong spot. Angles as in :mod:`fabella.measure.alignment`: valgus positive.
"""

from fabella.measure.landmarks import FEMORAL_HEAD, JOINT_LINES, KNEE_CENTRE, TALUS
from fabella.measure.points import Arm
from fabella.measure.quantities import ArithmeticHka, JointLineObliquity, Passing, Quantity, Sense, Turn
from fabella.measure.views import Medium, SeenFrom, View

_FEMUR: Arm = ("femoral_head", "knee_centre")
_TIBIA: Arm = ("knee_centre", "talus")
_MPTA = Turn(("lateral_plateau", "medial_plateau"), _TIBIA, Sense.OUTWARDS)
_LDFA = Turn(("medial_condyle", "lateral_condyle"), ("knee_centre", "femoral_head"), Sense.OUTWARDS)
_BRAUN = "derived: 95 % error of two observers over 1.96 (144 legs, Braun 2023, 10.1186/s13018-023-03552-8)"
_STANDING_FILM = (
    "Standing film of the whole limb with the patella to the front, as the examiner faces the patient."
)

_HKA = Quantity(
    id="hka",
    name="Mechanical hip-knee-ankle angle",
    positive="valgus; varus is negative",
    low=-40,
    high=40,
    formula=Turn(_FEMUR, _TIBIA, Sense.OUTWARDS),
    method_error=0.71,
    source=_BRAUN + ", 1.39",
)
_DEVIATION = Quantity(
    id="deviation",
    name="Mechanical axis deviation",
    unit="mm",
    positive="lateral; medial is negative",  # the side on which the axis passes by the knee
    low=-150,
    high=150,
    formula=Passing(("femoral_head", "talus"), "knee_centre"),
    method_error=1.7,
    source=_BRAUN + ", 3.31 mm",
)

LONG_LEG_FILM = View(
    id="long_leg_film",
    name="Film of the whole limb, standing",
    medium=Medium.RADIOGRAPH,
    seen_from=SeenFrom.FRONT,
    taking=_STANDING_FILM,
    landmarks=(FEMORAL_HEAD, KNEE_CENTRE, TALUS),
    quantities=(_HKA, _DEVIATION),
    segments=(_FEMUR, _TIBIA),
    adult_mm=800,
    proportion=(0.7, 1.8),
    downwards=("femoral_head", "knee_centre", "talus"),
)

JOINT_LINE_FILM = View(
    id="joint_line_film",
    name="Film of the whole limb, standing, with the joint lines",
    medium=Medium.RADIOGRAPH,
    seen_from=SeenFrom.FRONT,
    taking=_STANDING_FILM,
    landmarks=(FEMORAL_HEAD, KNEE_CENTRE, TALUS, *JOINT_LINES),
    quantities=(
        _HKA,
        Quantity(
            id="mpta",
            name="Medial proximal tibial angle",
            positive="the medial angle between plateaus and mechanical axis",
            low=60,
            high=120,
            formula=_MPTA,
            method_error=0.66,
            source=_BRAUN + ", 1.29",
        ),
        Quantity(
            id="ldfa",
            name="Mechanical lateral distal femoral angle",
            positive="the lateral angle between condyles and mechanical axis",
            low=60,
            high=120,
            formula=_LDFA,
            method_error=0.54,
            source=_BRAUN + ", 1.06",
        ),
        Quantity(
            id="convergence",
            name="Joint line convergence",
            positive="the joint opens on the medial side; lateral is negative",
            low=-25,
            high=25,
            formula=Turn(
                ("medial_condyle", "lateral_condyle"), ("medial_plateau", "lateral_plateau"), Sense.OUTWARDS
            ),
            method_error=0.85,
            source="judgement: both joint angles together; published as larger than the angle (Braun 2023)",
        ),
        Quantity(
            id="arithmetic_hka",
            name="Arithmetic hip-knee-ankle angle",
            positive="valgus; varus is negative",
            low=-60,
            high=60,
            formula=ArithmeticHka(_MPTA, _LDFA),
            method_error=0.85,
            source="derived: both joint angles together (Braun 2023)",
        ),
        Quantity(
            id="obliquity",
            name="Joint line obliquity",
            positive="above 180 its apex points up, below down",
            low=120,
            high=240,
            formula=JointLineObliquity(_MPTA, _LDFA),
            method_error=0.85,
            source="derived: both joint angles together (Braun 2023)",
        ),
        _DEVIATION,
    ),
    segments=(_FEMUR, _TIBIA),
    adult_mm=800,
    proportion=(0.7, 1.8),
    downwards=("femoral_head", "knee_centre", "talus"),
)
