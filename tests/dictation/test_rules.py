"""Rules that no other text would miss: each was taken out once, and nothing else told of it."""

import pytest

from fabella.record import State
from tests.dictation.spoken import ABNORMAL, NORMAL, RIGHT, found, read

ALL_FOUR = dict.fromkeys((f"{way}_stress_{bend}" for way in ("varus", "valgus") for bend in (0, 30)), NORMAL)


@pytest.mark.parametrize(
    ("text", "findings"),
    [
        ("varus 1 at 30, valgus 0 at 30", {"varus_stress_30": "1+", "valgus_stress_30": "0"}),
        ("varus stress 2 at 30", {"varus_stress_30": "2+"}),
        ("valgus 6 mm at 30", {"valgus_stress_30": 6.0}),
        ("stable to varus and valgus at 0, 30 and 90", ALL_FOUR),
        ("medial compartment stable", {"valgus_stress_30": NORMAL}),
        ("MCL tender, laxity 2+ at 30", {"tenderness_mcl": ABNORMAL, "valgus_stress_30": "2+"}),
        ("Lachman end point normal", {"lachman_end_point": "firm"}),
        ("Lachman end point poor", {"lachman_end_point": "soft"}),
        ("dial positive at 90", {"dial_90": ABNORMAL}),
        ("flexion 100 actively", {"active_flexion": 100.0}),
        ("active range 10 to 90", {"active_flexion": 90.0}),
        ("flexion 10 to 100", {"passive_extension": -10.0, "passive_flexion": 100.0}),
        ("extension 10 to 90", {"passive_extension": -10.0, "passive_flexion": 90.0}),
        ("extension reduced by 10 degrees", {"passive_extension": -10.0}),
        ("lacks 5 degrees of extension actively", {"extensor_lag": 5.0}),
        ("varus 8", {"tibiofemoral_angle": -8.0}),
        ("valgus alignment 7 degrees", {"tibiofemoral_angle": 7.0}),
        (
            "hip internal rotation 10 degrees, reduced and painful",
            {"hip_internal_rotation": 10.0, "hip_rotation_reduced": ABNORMAL, "hip_rotation_pain": ABNORMAL},
        ),
        ("capillary refill less than 2 seconds", {"capillary_refill_s": NORMAL}),
        (
            "patellar tendon tender, no gap",
            {"tenderness_patellar_tendon": ABNORMAL, "palpable_gap_patellar_tendon": NORMAL},
        ),
        ("Lachman 2+, refused pivot", {"lachman": "2+", "pivot_shift": State.UNTESTABLE}),
        ("leg 2 cm shorter", {"leg_length_difference": -2.0}),
        ("leg 15 mm longer", {"leg_length_difference": 1.5}),
        ("EHL 3/5", {"foot_drop": "weak"}),
        ("EHL 0/5", {"foot_drop": "absent"}),
        ("quads 0/5", {"knee_extension_strength": "0"}),
        ("patellar glide 1 quadrant medially", {"patellar_glide_reduced": ABNORMAL}),
        ("patellar glide normal", {"patellar_glide_reduced": NORMAL, "patellar_glide_increased": NORMAL}),
        ("moderate haemarthrosis aspirated", {"haemarthrosis_aspirate": "blood"}),
        ("moderate haemarthrosis drained", {"haemarthrosis_aspirate": "blood"}),
        ("not locked", {"block_to_extension": NORMAL}),
        ("no trace effusion", {"effusion": NORMAL}),
        ("no small effusion", {"effusion": NORMAL}),
        ("ligaments negative", {"ligament_laxity_any": NORMAL}),
        ("no pulses", {"distal_pulses": "absent"}),
        ("pulses 1+", {"distal_pulses": "weak"}),
        ("no blood with fat", {}),
        ("no clicks", {}),
    ],
)
def test_a_rule_reads(text: str, findings: dict[str, object]) -> None:
    """What was said is entered, all of it, and nothing is left open."""
    assert found(f"Right {text}.", RIGHT) == findings
    assert read(f"Right {text}.").is_complete


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("valgus stress at 90 degrees 1+", "at which bend"),
        ("valgus stress 2, negative", "said twice, and differently"),
        ("knee lax in flexion and extension", "on valgus or on varus stress?"),
        ("medial compartment normal", "stable, or in what way normal?"),
        ("cruciates lax", "by which test?"),
        ("posterior drawer 2+, soft end point", "the end point of the Lachman test only"),
        ("range 90 to 100", "how much exactly?"),
        ("range 110 to 5", "how much exactly?"),
        ("range 50 to 5", "the range ends before it begins"),
        ("range 30", "how much exactly?"),
        ("flexion less than 90", "how much exactly?"),
        ("ROM -5 to 130", "short of straight, or beyond it?"),
        ("ROM -5 to 90", "short of straight, or beyond it?"),
        ("ROM -20 to 130", "short of straight, or beyond it?"),
        ("extension 5", "short of straight, or beyond it?"),
        ("flexion 300", "impossible"),
        ("varus 2", "degrees of alignment, or a stress test?"),
        ("alignment abnormal", "varus or valgus?"),
        ("xyz full range", "not understood"),
        ("Lachman negative because of guarding", "negative, or not testable?"),
        ("Lachman probably positive", "it was said with doubt"),
        ("knee locked", "a block felt on examination, or told?"),
        ("SLR positive", "raised by the patient, or a stretch of the nerve?"),
        ("DP 72", "a heart rate is no sign of the knee"),
        ("quads 7/5", "which grade, 0 to 5?"),
        ("patellar glide abnormal", "increased or reduced?"),
        ("leg length discrepancy", "which leg is longer, and by how much?"),
        ("leg shorter", "by how much?"),
        ("no massive effusion", "positive or negative?"),
        ("no moderate effusion", "positive or negative?"),
        ("no big haemarthrosis", "positive or negative?"),
        ("knee not very swollen", "not so much, or not there at all?"),
        ("ligaments positive", "positive or negative?"),
        ("gait negative", "positive or negative?"),
        ("sensation negative", "positive or negative?"),
        ("sensation slight", "positive or negative?"),
        ("quads strength 2+", "positive or negative?"),
        ("no gait", "positive or negative?"),
        ("tracking marked", "positive or negative?"),
        ("ROM painful", "painful all the way, or only at the ends?"),
        ("clicks", "a click without pain has no sign in the protocol"),
    ],
)
def test_a_rule_asks(text: str, why: str) -> None:
    """What could mean more than one thing enters nothing of it, and the question says why."""
    assert any(why in span.why for span in read(f"Right {text}.").open_spans)
    read_of = found(f"Right {text}.", RIGHT)
    assert set(read_of) <= {"posterior_drawer"}


@pytest.mark.parametrize(
    ("text", "celsius"),
    [("Temp 101.3 F.", 38.5), ("Temp 101.", 38.3), ("Temp 38.4.", 38.4), ("Temp 86 F.", 30.0)],
)
def test_no_patient_is_so_hot(text: str, celsius: float) -> None:
    """A temperature is in Fahrenheit where that is said, or where it would boil."""
    assert found(text, None) == {"body_temperature": celsius}


def test_a_doubtful_complaint_is_no_answer() -> None:
    """A word that is not known may be what denies it."""
    assert dict(read("xyz locking left.").history) == {}
    assert not read("xyz locking left.").is_complete
