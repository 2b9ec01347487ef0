"""Deep vein thrombosis: two versions of one score, never mixed."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabella.flags import Points, VeinFacts, points_1997, points_2003
from fabella.record import Mechanism
from tests.flags.build import MET, OPEN, exam, verdict

# Worked example B.9: ten weeks after knee replacement, calf difference exactly 3.0 cm, pitting oedema on
# that side only, another diagnosis at least as likely. Wells 2003 N Engl J Med 349:1227, PMID 14507948;
# Wells 1997 Lancet 350:1795.
PATIENT = VeinFacts(
    active_cancer=False,
    paralysis_or_plaster=False,
    bed_rest_3_days=False,
    weeks_since_surgery=10,
    deep_vein_tenderness=False,
    whole_leg_swollen=False,
    calf_difference_cm=3.0,
    pitting_this_side_only=True,
    superficial_veins=False,
    previous_dvt=False,
    alternative_as_likely=True,
)


def test_the_version_of_2003() -> None:
    """B.9: surgery 1 + calf 1 + oedema 1 - 2 = 1, unlikely; without the alternative 3, likely."""
    assert points_2003(PATIENT) == Points(1, 1)
    assert points_2003(replace(PATIENT, alternative_as_likely=False)) == Points(3, 3)


def test_the_version_of_1997() -> None:
    """B.9: surgery beyond 4 weeks 0 + calf not above 3 cm 0 + oedema 1 - 2 = -1, low."""
    assert points_1997(PATIENT) == Points(-1, -1)


@pytest.mark.parametrize(
    ("facts", "in_2003", "in_1997"),
    [
        (VeinFacts(calf_difference_cm=2.9), 0, 0),
        (VeinFacts(calf_difference_cm=3.0), 1, 0),
        (VeinFacts(calf_difference_cm=38.3 - 35.3), 1, 0),
        (VeinFacts(calf_difference_cm=3.1), 1, 1),
        (VeinFacts(weeks_since_surgery=4), 1, 1),
        (VeinFacts(weeks_since_surgery=5), 1, 0),
        (VeinFacts(weeks_since_surgery=12), 1, 0),
        (VeinFacts(weeks_since_surgery=12.1), 0, 0),
        (VeinFacts(previous_dvt=True), 1, 0),
        (VeinFacts(bed_rest_3_days=True, weeks_since_surgery=1), 1, 1),
        (VeinFacts(alternative_as_likely=True), -2, -2),
    ],
)
def test_the_versions_differ_at_their_edges(facts: VeinFacts, in_2003: int, in_1997: int) -> None:
    """Calf of 3 cm, surgery 4 to 12 weeks ago and previous thrombosis tell the versions apart."""
    assert points_2003(facts).sure == in_2003
    assert points_1997(facts).sure == in_1997


@given(
    st.builds(
        VeinFacts,
        **{
            name: st.sampled_from([True, False, None])
            for name in (
                "active_cancer",
                "paralysis_or_plaster",
                "bed_rest_3_days",
                "deep_vein_tenderness",
                "whole_leg_swollen",
                "pitting_this_side_only",
                "superficial_veins",
                "previous_dvt",
                "alternative_as_likely",
            )
        },
    )
)
def test_the_unknown_only_widens_the_score(facts: VeinFacts) -> None:
    """The sure points never exceed the possible ones, and all points lie between -2 and 9."""
    points = points_2003(facts)
    assert -2 <= points.sure <= points.possible <= 9


def test_two_points_are_likely_and_one_is_never_the_end() -> None:
    """NICE NG158: likely from 2 points on; below, the D-dimer decides, so the rule stays open."""
    girths = {"calf_girth": 38.3}, {"calf_girth": 35.3}
    assert verdict(exam(*girths), "dvt_2003") is OPEN
    assert verdict(exam(*girths, said={"major_surgery_12_weeks": True}), "dvt_2003") is MET


def test_risk_alone_asks_for_the_leg_to_be_examined() -> None:
    """Two points of risk keep the rule open until the leg was examined; a sound leg then ends it."""
    said = {"active_cancer": True, "major_surgery_12_weeks": True}
    assert verdict(exam(said=said), "dvt_2003") is OPEN
    sound = {
        "tenderness_calf": False,
        "whole_leg_swollen": False,
        "pitting_oedema": False,
        "superficial_veins": False,
        "calf_girth": 36.0,
    }
    examined = exam(sound, {"calf_girth": 36.0}, said={**said, "calf_pain": False})
    assert verdict(examined, "dvt_2003") is None


def test_a_calf_swollen_to_the_eye_raises_the_question_and_scores_nothing() -> None:
    """Without a tape a swollen, painful calf is suspicious; a measured one is judged by its centimetres."""
    said = {"calf_pain": True}
    seen = exam({"calf_girth": True}, said=said)
    assert (verdict(seen, "dvt_suspected"), verdict(seen, "dvt_2003")) == (MET, OPEN)
    assert verdict(exam({"calf_girth": True}), "dvt_suspected") is OPEN
    wasted = exam({"calf_girth": True, "calf_wasting": True})
    assert verdict(wasted, "dvt_suspected") is None
    alike = exam({"calf_girth": 37.0, "tenderness_calf": False}, {"calf_girth": 36.0}, said=said)
    assert verdict(alike, "dvt_suspected") is OPEN


def test_oedema_counts_on_one_side_only() -> None:
    """Pitting oedema of both shins gives no point; of unknown other side, none for sure."""
    calf = {"tenderness_calf": True, "pitting_oedema": True}
    assert verdict(exam(calf, {"pitting_oedema": False}), "dvt_2003") is MET
    assert verdict(exam(calf, {"pitting_oedema": True}), "dvt_2003") is OPEN
    assert verdict(exam(calf), "dvt_2003") is OPEN


def test_a_torn_calf_is_not_a_suspicion() -> None:
    """A fresh injury takes the rule of two leg signs away, never the score."""
    said = {"calf_pain": True}
    torn = exam({"tenderness_calf": True}, said=said, days=1, mechanism=Mechanism.TWIST)
    assert verdict(torn, "dvt_suspected") is None
    assert verdict(torn, "dvt_2003") is OPEN
