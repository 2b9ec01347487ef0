"""What is drawn agrees with the protocol, keeps to the limb, and is fit to stand in a page."""

import math
import re
import xml.etree.ElementTree as ET
from itertools import combinations
from pathlib import Path

import pytest

from fabella.errors import InputError
from fabella.figure import drawn_signs, position_figure, sign_figure
from fabella.figure.figures import sign_sheet
from fabella.figure.frontal import UNIT, FrontPose, leg_contour
from fabella.figure.leg import leg_lines
from fabella.figure.pen import Point, sample
from fabella.figure.plan import FrontPlan, Plan, plans
from fabella.figure.profile import leg_of
from fabella.figure.reach import arrow_path, place_of
from fabella.figure.sheet import TONES, TYPE, Sheet, Words, write
from fabella.figure.tables import drawings, hands, knee_sites
from fabella.protocol import load_protocol
from tests.figure.reading import knee_deg

PROTOCOL = load_protocol()
SIGNS = sorted(drawn_signs())
POSITIONS = [each.id for each in PROTOCOL.positions]
SVG = "{http://www.w3.org/2000/svg}"

LARGEST = 6 * 1024
NEAR = 80.0  # thousandths of stature: the length of a palm

ASKED_FOR = {
    "effusion_sweep", "patellar_tap", "cross_fluctuation", "lachman", "anterior_drawer",
    "posterior_drawer", "posterior_sag", "tibial_step_off", "pivot_shift", "valgus_stress_0",
    "valgus_stress_30", "varus_stress_0", "varus_stress_30", "dial_30", "dial_90",
    "external_rotation_recurvatum", "mcmurray_medial", "mcmurray_lateral", "thessaly_5", "thessaly_20",
    "apley", "patellar_glide_reduced", "patellar_glide_increased", "patellar_tilt",
    "patellar_apprehension", "patellar_tracking", "heel_height_difference", "recurvatum",
    "extensor_lag", "straight_leg_raise", "active_flexion", "passive_flexion", "heel_to_buttock",
    "thigh_girth", "calf_girth", "hip_rotation_reduced", "distal_pulses", "capillary_refill_s",
    "foot_drop",
}  # fmt: skip


def sheet_of(sign_id: str) -> Sheet:
    """The drawing of a sign before it is written."""
    sheet = sign_sheet(sign_id)
    assert sheet is not None
    return sheet


def plan_of(sign_id: str) -> Plan | FrontPlan:
    """The plan of a sign's drawing."""
    return plans()[sign_id]


PROFILES = [sign for sign in SIGNS if isinstance(plans()[sign], Plan)]
FRONTS = [sign for sign in SIGNS if isinstance(plans()[sign], FrontPlan)]


def test_the_manoeuvres_that_a_drawing_helps_have_one() -> None:
    """Every manoeuvre of the list, and every tender site, is drawn; nothing is drawn that is not examined."""
    tender = {sign.id for sign in PROTOCOL.signs if "tenderness" in sign.id}
    assert (ASKED_FOR | tender) <= drawn_signs() <= {sign.id for sign in PROTOCOL.signs}


def test_each_sign_is_drawn_once() -> None:
    """No sign stands in two drawings."""
    named = [sign for row in drawings()["drawing"] for sign in row["signs"]]
    assert len(named) == len(set(named))


@pytest.mark.parametrize("sign_id", SIGNS)
def test_the_knee_is_bent_as_the_protocol_says(sign_id: str) -> None:
    """Where the protocol gives a range the angle is taken from it and lies in it; no angle is typed twice."""
    plan, span = plan_of(sign_id), PROTOCOL.sign(sign_id).knee_flexion_deg
    drawn = plan.knee_of(sign_id)
    if span is not None:
        assert plan.knee_deg is None
        assert drawn is not None
        assert span[0] <= drawn <= span[1]
    if isinstance(plan, Plan):
        assert knee_deg(leg_of(plan, knee_deg=plan.knee_of(sign_id))) == pytest.approx(drawn, abs=0.5)
        ghost = plan.ghost_of(sign_id)
        assert ghost is None or span is None or span[0] <= ghost <= span[1]


@pytest.mark.parametrize("sign_id", SIGNS)
def test_a_drawing_is_fit_to_stand_in_a_page(sign_id: str) -> None:
    """It is well-formed, small, named, and carries neither styles nor ids nor anything from elsewhere."""
    text = sign_figure(sign_id)
    assert text is not None
    fit(text, name=PROTOCOL.sign(sign_id).name)


@pytest.mark.parametrize("position_id", POSITIONS)
def test_every_position_has_a_drawing(position_id: str) -> None:
    """It is fit to stand in a page, and its text equivalent says how the patient stands, sits or lies."""
    fit(position_figure(position_id), name=PROTOCOL.position(position_id).patient)


def fit(text: str, *, name: str) -> None:
    """Check what every drawing must be."""
    root = ET.fromstring(text)  # noqa: S314 - our own text
    assert root.tag == f"{SVG}svg"
    assert name in root.attrib["aria-label"]
    assert root.attrib["role"] == "img"
    assert len(text.encode()) <= LARGEST
    assert not re.search(r'\b(style|id|href|on\w+)="|<style|<script|url\(', text)
    classes = {each.attrib["class"] for each in root.iter() if "class" in each.attrib}
    assert classes <= {f"f-{tone}" for tone in TONES} | {"f-words", "figure"}


def test_a_drawing_alone_carries_its_colours() -> None:
    """Written to stand by itself, every class also has its colours."""
    text = write(sheet_of("lachman"), alone=True)
    assert len(re.findall(r'class="f-\w+" fill="', text)) == text.count('class="f-') > 5


@pytest.mark.parametrize("sign_id", PROFILES)
def test_hands_and_arrows_keep_to_the_limb_in_profile(sign_id: str) -> None:
    """What touches and what points lies within a palm's length of the skin."""
    plan = plan_of(sign_id)
    assert isinstance(plan, Plan)
    leg = leg_of(plan, knee_deg=plan.knee_of(sign_id))
    outline = sample(leg_lines(leg).outline)
    for hand in plan.hands:
        assert hand.hold in hands()
        assert distance(place_of(leg, hand.spot), outline) <= NEAR
    for arrow in plan.arrows:
        assert min(distance(point, outline) for point in arrow_path(leg, arrow)) <= NEAR / 2
    for spot in plan.touch:
        assert distance(place_of(leg, spot), outline) <= 12


@pytest.mark.parametrize("sign_id", FRONTS)
def test_hands_arrows_and_sites_keep_to_the_limb_from_the_front(sign_id: str) -> None:
    """The same from the front; a place to press lies within the skin."""
    plan = plan_of(sign_id)
    assert isinstance(plan, FrontPlan)
    pose = FrontPose(valgus_deg=plan.valgus_deg, opens_mm=plan.opens_mm)
    outline = sample(leg_contour(pose))
    for hand in plan.hands:
        assert distance(pose.place(hand.at), outline) <= NEAR
    if plan.view not in {"sitting", "shanks"}:
        for path in plan.arrows:
            assert min(distance(point, outline) for point in pose.places(path)) <= NEAR
    places = [*plan.touch, *([tuple(knee_sites()[sign_id]["at"])] if plan.sited else [])]
    for x, y in places:
        assert abs(x) <= 19
        assert -38 <= y <= 32


@pytest.mark.parametrize("sign_id", SIGNS)
def test_words_are_legible_and_do_not_overlap(sign_id: str) -> None:
    """Labels lie within the drawing, apart from each other, and no hand or arrow runs through them."""
    sheet = sheet_of(sign_id)
    width, height = sheet.size
    boxes = [box(sheet, each) for each in sheet.words]
    for left, top, right, bottom in boxes:
        assert 0 <= left < right <= width
        assert 0 <= top < bottom <= height
    for one, other in combinations(boxes, 2):
        assert not meet(one, other)
    marks = [
        sheet.place(point)
        for item in sheet.items
        if item.tone in {"hand", "cloth", "accent", "spot"}
        for point in item.points
    ]
    for left, top, right, bottom in boxes:
        assert not any(left < x < right and top < y < bottom for x, y in marks)


def box(sheet: Sheet, words: Words) -> tuple[float, float, float, float]:
    """The room that a label takes in the view box."""
    x, y = sheet.place(words.at)
    wide = 0.5 * TYPE * len(words.text)
    left = {"start": x, "middle": x - wide / 2, "end": x - wide}[words.anchor]
    return left, y - TYPE / 2, left + wide, y + TYPE / 2


def meet(one: tuple[float, float, float, float], other: tuple[float, float, float, float]) -> bool:
    """Whether two boxes share room."""
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def distance(point: Point, outline: tuple[Point, ...]) -> float:
    """How far a point lies from an outline."""
    return min(math.dist(point, each) for each in outline)


def test_arrows_of_opposite_tests_point_opposite_ways() -> None:
    """The anterior drawer pulls the tibia forwards, the posterior one pushes it back."""
    ways = {}
    for sign_id in ("anterior_drawer", "lachman", "posterior_drawer", "posterior_sag"):
        plan = plan_of(sign_id)
        assert isinstance(plan, Plan)
        leg = leg_of(plan, knee_deg=plan.knee_of(sign_id))
        start, tip = arrow_path(leg, plan.arrows[0])
        ways[sign_id] = (tip[0] - start[0]) * leg.shank.forwards[0] + (
            tip[1] - start[1]
        ) * leg.shank.forwards[1]
    assert ways["anterior_drawer"] > 0 < ways["lachman"]
    assert ways["posterior_drawer"] < 0 > ways["posterior_sag"]


@pytest.mark.parametrize(
    ("sign_id", "valgus"),
    [
        ("valgus_stress_0", True),
        ("valgus_stress_30", True),
        ("varus_stress_0", False),
        ("varus_stress_30", False),
    ],
)
def test_stress_opens_the_side_it_is_meant_to(sign_id: str, valgus: bool) -> None:
    """Valgus stress bends the leg outwards and pushes at the ankle towards lateral; varus the other way."""
    plan = plan_of(sign_id)
    assert isinstance(plan, FrontPlan)
    assert (plan.valgus_deg > 6) is valgus
    (_, knee_tip), (ankle_start, ankle_tip) = (path[:2] for path in plan.arrows)
    assert (ankle_tip[0] > ankle_start[0]) is valgus
    assert (knee_tip[0] < plan.arrows[0][0][0]) is valgus


@pytest.mark.parametrize(
    ("sign_id", "words"),
    [
        ("lachman", "from the side, knee 25°, a hand on the front of the thigh"),
        ("lachman", "the shank moved forwards"),
        ("posterior_drawer", "the shank moved backwards"),
        ("mcmurray_medial", "knee 130° to 90°"),
        ("mcmurray_medial", "the shank turned outwards"),
        ("mcmurray_lateral", "the shank turned inwards"),
        ("varus_stress_30", "the shin pressed inwards"),
        ("recurvatum", "10° past straight"),
        ("tenderness_pes_anserinus", "the place marked: pes anserinus"),
        ("thigh_girth", "a tape round the limb"),
        ("dial_90", "prone, knee 90°"),
    ],
)
def test_the_text_equivalent_says_what_is_drawn(sign_id: str, words: str) -> None:
    """View, angle, hands and movement stand in words for whoever does not see the drawing."""
    assert words in sheet_of(sign_id).title


def test_what_has_no_drawing_says_so() -> None:
    """A question of the history has none; a sign that does not exist is refused with the nearest names."""
    assert sign_figure("fever") is None
    with pytest.raises(InputError, match="lachman"):
        sign_figure("lachmann")
    with pytest.raises(InputError):
        position_figure("lying_down")


def test_the_scale_of_the_front_view_is_that_of_the_profile() -> None:
    """Both are in thousandths of stature: from knee to ankle 246 of them, within a finger's breadth."""
    ankle = FrontPose().place((0, 143))
    assert ankle[1] == pytest.approx(246, abs=8)
    assert UNIT == pytest.approx(3 / 1.75)


@pytest.mark.parametrize("sign_id", ["lachman", "mcmurray_medial", "tenderness_pes_anserinus"])
def test_the_pictures_of_the_documentation_are_today_s(sign_id: str) -> None:
    """What the page about drawings shows is what is drawn now."""
    path = Path(__file__).parents[2] / "docs" / "pictures" / f"{sign_id}.svg"
    assert path.read_text("utf-8") == write(sheet_of(sign_id), alone=True) + "\n"
