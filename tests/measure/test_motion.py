import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabella.errors import InputError
from fabella.measure import extension_difference_deg, heel_height_difference_cm, heel_to_hip_cm


@pytest.mark.parametrize(
    ("height_cm", "length_cm", "degrees"),
    [(1, 36, 1.59), (1, 40, 1.43), (1, 42, 1.36), (1, 44, 1.30), (1, 48, 1.19), (2.5, 42, 3.41)],
)
def test_heel_height_in_degrees(height_cm: float, length_cm: float, degrees: float) -> None:
    """A heel-height difference is the arcsine of height over length, so 1 cm is rather more than 1 degree."""
    # Right-angled triangle, worked independently; the rule of thumb is Sachs 1989 (from memory).
    got = extension_difference_deg(heel_height_cm=height_cm, knee_to_heel_cm=length_cm)
    assert got == pytest.approx(degrees, abs=0.005)


@given(st.floats(-89, 89), st.floats(20, 60))
def test_heel_height_and_degrees_convert_back(angle_deg: float, length_cm: float) -> None:
    """Degrees to centimetres and back is the same angle."""
    height_cm = heel_height_difference_cm(extension_difference_deg=angle_deg, knee_to_heel_cm=length_cm)
    back = extension_difference_deg(heel_height_cm=height_cm, knee_to_heel_cm=length_cm)
    assert back == pytest.approx(angle_deg, abs=1e-4)


@pytest.mark.parametrize(("flexion_deg", "distance_cm"), [(120, 42.0), (130, 35.5), (140, 28.7), (150, 21.7)])
def test_heel_to_hip_model(flexion_deg: float, distance_cm: float) -> None:
    """With two segments of 42 cm, the heel nears the hip as the law of cosines says."""
    # Law of cosines, worked independently; no published norm exists.
    got = heel_to_hip_cm(hip_to_knee_cm=42, knee_to_heel_cm=42, flexion_deg=flexion_deg)
    assert got == pytest.approx(distance_cm, abs=0.05)


def test_a_degree_near_full_flexion_is_about_two_thirds_of_a_centimetre() -> None:
    """Between 130 and 150 degrees the heel moves 0.65 to 0.70 cm a degree."""
    # Same triangle.
    near, far = (heel_to_hip_cm(hip_to_knee_cm=42, knee_to_heel_cm=42, flexion_deg=f) for f in (150, 130))
    assert 0.65 <= (far - near) / 20 <= 0.70


def test_impossible_geometry_is_refused() -> None:
    """A heel cannot lie higher than the leg is long, nor a knee bend past 180 degrees."""
    with pytest.raises(InputError, match="heel_height_cm"):
        extension_difference_deg(heel_height_cm=50, knee_to_heel_cm=42)
    with pytest.raises(InputError, match="from 0 to 180"):
        heel_to_hip_cm(hip_to_knee_cm=42, knee_to_heel_cm=42, flexion_deg=190)
    with pytest.raises(InputError, match="knee_to_heel_cm"):
        heel_height_difference_cm(extension_difference_deg=1, knee_to_heel_cm=0)
