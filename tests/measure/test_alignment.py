import pytest

from fabella.errors import InputError
from fabella.measure import (
    arithmetic_hka_deg,
    coronal_type,
    joint_line_convergence_deg,
    joint_line_obliquity_deg,
    lateral_distal_femur_anatomical_deg,
    mechanical_hka_deg,
    tibiofemoral_anatomical_deg,
    valgus_positive_deg,
)


def test_arithmetic_angle_and_obliquity_of_500_knees() -> None:
    """MPTA 85.8 and LDFA 87.6 give an aHKA of -1.8 and a joint line obliquity of 173.4."""
    # 500 Malaysian knees before arthroplasty: all four means published.
    assert arithmetic_hka_deg(mpta_deg=85.8, ldfa_deg=87.6) == pytest.approx(-1.8, abs=0.05)
    assert joint_line_obliquity_deg(mpta_deg=85.8, ldfa_deg=87.6) == pytest.approx(173.4, abs=0.05)


def test_convergence_is_what_bones_do_not_explain() -> None:
    """In 500 normal knees aHKA -0.87 and mHKA -1.33 leave -0.46 for the joint space."""
    # MacDessi 2021 Bone Jt Open 2:351-357; quoted elsewhere as around -0.5 (10.1186/s42836-023-00193-4).
    convergence = joint_line_convergence_deg(mechanical_hka_deg=-1.33, arithmetic_hka_deg=-0.87)
    assert convergence == pytest.approx(-0.46, abs=0.005)
    assert mechanical_hka_deg(
        arithmetic_hka_deg=-0.87, joint_line_convergence_deg=convergence
    ) == pytest.approx(-1.33)
    assert mechanical_hka_deg(arithmetic_hka_deg=-3, joint_line_convergence_deg=0) == -3


def test_anatomical_and_mechanical_axes_of_87_limbs() -> None:
    """The angle between the femoral axes, 5.4, links mechanical and anatomical angles as published."""
    # Jamali 2017 J Orthop Surg Res 12:77: aTFA 4.8, aLDFA 80.2; tolerance 0.1 for rounded means.
    assert tibiofemoral_anatomical_deg(mechanical_deg=-0.7, femoral_axes_deg=5.4) == pytest.approx(
        4.8, abs=0.11
    )
    femur = lateral_distal_femur_anatomical_deg(mechanical_deg=85.6, femoral_axes_deg=5.4)
    assert femur == pytest.approx(80.2, abs=0.1)
    bones = arithmetic_hka_deg(mpta_deg=86.1, ldfa_deg=85.6)
    assert joint_line_convergence_deg(mechanical_hka_deg=-0.7, arithmetic_hka_deg=bones) == pytest.approx(
        -1.2, abs=0.1
    )


def test_a_source_that_counts_varus_as_positive_is_turned_round() -> None:
    """An HKA printed as 1.35 with varus positive is -1.35 here."""
    # Korean women, Knee Surg Relat Res 2015 (PMC4349645).
    assert valgus_positive_deg(varus_positive_deg=1.35) == -1.35


def test_the_type_of_a_mean_is_not_the_commonest_type() -> None:
    """The means of the 500 knees fall into type II, although type I was the commonest among them (43.4 %)."""
    # Same 500 knees; type I is varus with apex distal (MacDessi 2021 Bone Joint J 103-B:329-337).
    mean = coronal_type(arithmetic_hka_deg=-1.8, joint_line_obliquity_deg=173.4)
    assert (mean.type, mean.alignment, mean.joint_line) == ("II", "neutral", "apex distal")
    assert mean.to_boundary_deg == pytest.approx(0.2)


@pytest.mark.parametrize(
    ("hka_deg", "obliquity_deg", "expected"),
    [
        *[(-5, 170, "I"), (0, 170, "II"), (5, 170, "III")],
        *[(-5, 180, "IV"), (0, 180, "V"), (5, 180, "VI")],
        *[(-5, 190, "VII"), (0, 190, "VIII"), (5, 190, "IX")],
        *[(-2, 177, "V"), (2, 183, "V")],
    ],
)
def test_nine_types_with_their_inclusive_boundaries(
    hka_deg: float, obliquity_deg: float, expected: str
) -> None:
    """Columns run varus to valgus, rows apex distal to proximal; the ends of the bands are neutral."""
    # Bounds -2..2 and 177..183 of MacDessi 2021, from memory.
    assert coronal_type(arithmetic_hka_deg=hka_deg, joint_line_obliquity_deg=obliquity_deg).type == expected


def test_wider_bounds_change_the_type() -> None:
    """An aHKA of -2.5 is varus by the original bounds and neutral by those for Asian knees."""
    # Bone Jt Open 2022;3 (PMC8965787): +-3.
    assert coronal_type(arithmetic_hka_deg=-2.5, joint_line_obliquity_deg=175).alignment == "varus"
    wide = coronal_type(arithmetic_hka_deg=-2.5, joint_line_obliquity_deg=175, neutral_hka_deg=3)
    assert wide.alignment == "neutral"


def test_an_angle_that_is_no_joint_angle_is_refused() -> None:
    """An MPTA of 3 (measured from 90 by mistake) is refused with the range that is meant."""
    with pytest.raises(
        InputError, match="mpta_deg: '3' is not a possible value; use a number from 60 to 120"
    ):
        arithmetic_hka_deg(mpta_deg=3, ldfa_deg=87)
