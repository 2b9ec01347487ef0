"""What is seen, in words: whatever a figure shows of a view is told, about-numbers and all, not graded."""

from dataclasses import replace

import pytest

from fabella.anatomy import Side, load_lesions
from fabella.figure import View
from fabella.protocol import load_protocol
from fabella.teach import VIEWS, LegLook, Look
from fabella.teach.looks import look_at
from fabella.teach.said import said_of
from tests.teach.patients import patient


def look(position: str, right: LegLook) -> Look:
    """A look at a right leg beside a left one of which nothing is known."""
    return Look(position=position, right=right, left=LegLook(side=Side.LEFT))


RIGHT = LegLook(side=Side.RIGHT)


@pytest.mark.parametrize(
    ("position", "view", "leg", "said"),
    [
        ("standing", View.FRONT, replace(RIGHT, alignment_deg=6.4),
         "From the right knee down the shin points about 6° outwards of the thigh."),
        ("standing", View.FRONT, replace(RIGHT, alignment_deg=-5.0),
         "From the right knee down the shin points about 5° inwards of the thigh."),
        ("standing", View.FRONT, replace(RIGHT, fullness=2),
         "The hollows beside the right kneecap are filled, and the skin stands out above it."),
        ("standing", View.FRONT, replace(RIGHT, patella_turned_in=True), "The right kneecap faces inwards."),
        ("standing", View.BACK, replace(RIGHT, heel_deg=12.0), "The right heel leans about 12° outwards."),
        ("standing", View.RIGHT, replace(RIGHT, extension_deg=-8.0),
         "The right knee is bent by about 8°."),
        ("standing", View.LEFT, replace(RIGHT, extension_deg=9.0),
         "The right knee is beyond straight by about 9°."),
        ("lying", View.LYING_LEFT, replace(RIGHT, held_flexed=True), "The right knee is kept half bent."),
        ("lying", View.ABOVE, replace(RIGHT, patella_out=True),
         "The right kneecap lies on the outer side of the knee."),
    ],
)  # fmt: skip
def test_what_is_seen_is_said(position: str, view: View, leg: LegLook, said: str) -> None:
    """Each thing to be seen has its words, with its side and about its number."""
    assert said_of(look(position, leg), view) == said


def test_a_sunken_shin_is_told_beside_the_other() -> None:
    """How far one shin stands behind the other is what one line of sight shows."""
    legs = Look(
        position="knees_90",
        right=replace(RIGHT, sag_mm=8.2),
        left=LegLook(side=Side.LEFT, sag_mm=0.0),
    )
    expected = "Below the kneecap the right shin stands about 8 mm behind the left one."
    assert said_of(legs, View.RIGHT_ANGLE_LEFT) == expected
    level = replace(legs, right=replace(legs.right, sag_mm=0.0))
    assert said_of(level, View.RIGHT_ANGLE_RIGHT) == "Both shins stand equally far forward."


CHANGES: dict[str, object] = {
    "alignment_deg": -4.0,
    "patella_turned_in": True,
    "fullness": 1,
    "wasting": 1,
    "calf_wasting": 1,
    "redness": 1,
    "bruise": True,
    "scar": True,
    "wound": True,
    "extension_deg": -9.0,
    "flat_foot": True,
    "high_arch": True,
    "heel_deg": -6.0,
    "prepatellar": True,
    "tubercle": True,
    "patella_high": True,
    "patella_low": True,
    "patella_out": True,
    "behind": True,
    "deformed": True,
    "held_flexed": True,
    "sag_mm": 9.0,
    "limp": 1,
    "stiff": True,
    "thrust": "varus",
    "foot_progression_deg": 25.0,
    "stance_share_pct": 53.0,
    "peak_flexion_deg": 41.0,
    "trendelenburg": True,
}
USUAL = LegLook(
    side=Side.RIGHT,
    alignment_deg=6.0,
    patella_turned_in=False,
    fullness=0,
    wasting=0,
    calf_wasting=0,
    redness=0,
    bruise=False,
    scar=False,
    wound=False,
    extension_deg=0.0,
    flat_foot=False,
    high_arch=False,
    heel_deg=4.0,
    prepatellar=False,
    tubercle=False,
    patella_high=False,
    patella_low=False,
    patella_out=False,
    behind=False,
    deformed=False,
    held_flexed=False,
    sag_mm=0.0,
    limp=0,
    stiff=False,
    thrust="none",
    foot_progression_deg=10.0,
    stance_share_pct=61.0,
    peak_flexion_deg=60.0,
    trendelenburg=False,
)


@pytest.mark.parametrize("name", sorted({each for each in LegLook.__dataclass_fields__ if each != "side"}))
def test_everything_that_can_be_seen_has_words(name: str) -> None:
    """Whatever changes the look of a leg changes the words of some view."""
    changed = replace(USUAL, **{name: CHANGES[name]})  # type: ignore[arg-type]

    def told(leg: LegLook) -> list[str]:
        other = replace(USUAL, side=Side.LEFT)
        return [
            said_of(Look(position=position, right=leg, left=other), view)
            for position, views in VIEWS.items()
            for view in views
        ]

    assert told(changed) != told(USUAL)


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("position", list(VIEWS))
def test_words_name_neither_lesion_nor_sign_nor_grade(seed: int, position: str) -> None:
    """Whatever a patient looks like, the words describe it and name nothing that the student is to name."""
    seen = look_at(patient(seed), position)
    assert seen is not None
    names = {each.name.lower() for each in load_lesions().values()}
    names |= {each.name.lower() for each in load_protocol().signs}
    for view in VIEWS[position]:
        said = said_of(seen, view).lower()
        assert "right" in said or "both" in said
        assert not [name for name in names if name in said and len(name) > len("scar")]
        for word in (
            "normal",
            "mild",
            "marked",
            "moderate",
            "slight",
            "effusion",
            "varus",
            "valgus",
            "positive",
        ):
            assert word not in said
