"""The landmarks of a limb, and how exactly each can be placed on a picture."""

from fabella.measure.views import Landmark

_DEEP = (
    "derived: hands that feel for iliac spine or trochanter disagree by 15 to 20 mm (Della Croce 2005, as "
    "quoted in a textbook of movement analysis); that in any one of three directions"
)
_SKIN = "judgement: a bony point just under the skin"
_FILM = "judgement: the centre of a round or symmetrical outline on a film"
_LINE = (
    "derived: a joint line of 75 mm then errs by 0.5 degrees, as between two observers "
    "(Braun 2023, 10.1186/s13018-023-03552-8)"
)

TROCHANTER = Landmark(
    id="trochanter", name="greater trochanter", where="its most prominent point", placed_mm=10, source=_DEEP
)
EPICONDYLE = Landmark(
    id="epicondyle",
    name="lateral epicondyle",
    where="the middle of the knee from front to back, on the lateral femoral epicondyle",
    placed_mm=5,
    source=_SKIN,
)
MALLEOLUS = Landmark(
    id="malleolus", name="lateral malleolus", where="its most prominent point", placed_mm=4, source=_SKIN
)
TOES = Landmark(
    id="toes",
    name="toes",
    where="the tip of the foot; it only tells which way the limb faces",
    placed_mm=0,
    source="judgement: only a rough direction is taken from it",
)
ILIAC_SPINE = Landmark(
    id="iliac_spine", name="anterior superior iliac spine", where="its point", placed_mm=10, source=_DEEP
)
PATELLA = Landmark(
    id="patella",
    name="middle of the patella",
    where="half-way between its edges and between its poles",
    placed_mm=2,
    source=(
        "judgement: the exactness that the angle needs (France and Nester 2001, "
        "Clin Biomech 16:710-713), reached with a skin mark"
    ),
)
TUBERCLE = Landmark(
    id="tubercle",
    name="tibial tubercle",
    where="the middle of its prominence",
    placed_mm=2,
    source=PATELLA.source,
)
ANKLE = Landmark(
    id="ankle", name="middle of the ankle", where="half-way between the malleoli", placed_mm=4, source=_SKIN
)
THIGH = Landmark(
    id="thigh",
    name="middle of the upper thigh",
    where="the middle of the back of the thigh, at the crease of the buttock",
    placed_mm=10,
    source="judgement: the middle of an outline of soft parts",
)
HOLLOW = Landmark(
    id="hollow",
    name="middle of the hollow of the knee",
    where="the middle of the back of the knee",
    placed_mm=5,
    source=_SKIN,
)
HEEL = Landmark(
    id="heel",
    name="middle of the heel",
    where="the middle of the sole at the heel",
    placed_mm=4,
    source=_SKIN,
)
SECOND_TOE = Landmark(
    id="second_toe", name="second toe", where="the sole behind the second toe", placed_mm=4, source=_SKIN
)
FEMORAL_HEAD = Landmark(
    id="femoral_head", name="centre of the femoral head", where="of its circle", placed_mm=2, source=_FILM
)
KNEE_CENTRE = Landmark(
    id="knee_centre", name="centre of the knee", where="between the tibial spines", placed_mm=2, source=_FILM
)
TALUS = Landmark(
    id="talus", name="centre of the ankle", where="the middle of the talar dome", placed_mm=2, source=_FILM
)


def _joint_line(id_: str, name: str) -> Landmark:
    return Landmark(
        id=id_, name=name, where="where the joint line touches the bone", placed_mm=0.5, source=_LINE
    )


JOINT_LINES = (
    _joint_line("lateral_condyle", "lateral femoral condyle"),
    _joint_line("medial_condyle", "medial femoral condyle"),
    _joint_line("lateral_plateau", "lateral tibial plateau"),
    _joint_line("medial_plateau", "medial tibial plateau"),
)
