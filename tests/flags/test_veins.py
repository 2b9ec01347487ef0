"""Deep vein thrombosis: the score of 2003, not mixed with that of 1997."""

import csv
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabella.evidence.loader import LATEST, edition_folder
from fabella.flags import cannot_wait
from fabella.flags.knee import Knee
from fabella.flags.veins import vein_facts
from fabella.flags.wells import Points, VeinFacts, points_2003
from fabella.record import Answer, Mechanism
from tests.flags.build import LEFT, MET, OPEN, PROTOCOL, RIGHT, Found, exam, verdict

# Worked example B.9: ten weeks after knee replacement, calf difference exactly 3.0 cm, pitting oedema on
# that side only, another diagnosis at least as likely. Wells 2003 N Engl J Med 349:1227, PMID 14507948; what
# Wells 1997 Lancet 350:1795 counts otherwise stands beside it.
PATIENT = VeinFacts(
    active_cancer=False,
    paralysis_or_plaster=False,
    bed_rest_3_days=False,
    surgery_12_weeks=True,
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


@pytest.mark.parametrize(
    ("facts", "sure"),
    [
        (VeinFacts(calf_difference_cm=2.9), 0),
        (VeinFacts(calf_difference_cm=3.0), 1),  # strictly above 3 cm in 1997
        (VeinFacts(calf_difference_cm=38.3 - 35.3), 1),
        (VeinFacts(surgery_12_weeks=True), 1),
        (VeinFacts(previous_dvt=True), 1),  # no item in 1997
        (VeinFacts(bed_rest_3_days=True, surgery_12_weeks=True), 1),
        (VeinFacts(alternative_as_likely=True), -2),
        (VeinFacts(immobilised=True), 1),
        (VeinFacts(immobilised=True, surgery_12_weeks=True), 1),
        (VeinFacts(immobilised=True, bed_rest_3_days=False, surgery_12_weeks=True), 2),
        (VeinFacts(paralysis_or_plaster=True, bed_rest_3_days=True), 2),
    ],
)
def test_the_edges_of_the_score(facts: VeinFacts, sure: int) -> None:
    """A calf of 3 cm and a previous thrombosis count; bed rest and surgery are one item."""
    assert points_2003(facts).sure == sure


# Row of the published table (`decision_rules/wells_2003.csv`): what scores it alone, and what just does not.
# Answers, findings of the leg complained of, findings of the other.
Seen = tuple[dict[str, Answer], dict[str, Found], dict[str, Found]]
ITEMS: dict[str, tuple[Seen, Seen]] = {
    "1": (({"active_cancer": True}, {}, {}), ({"cancer_history": True}, {}, {})),
    "2": (({"leg_paralysed_or_in_plaster": True}, {}, {}), ({"leg_paralysed_or_in_plaster": False}, {}, {})),
    "3": (
        ({"bed_rest_3_days": True, "major_surgery_12_weeks": True}, {}, {}),
        ({"bed_rest_3_days": False, "major_surgery_12_weeks": False}, {}, {}),
    ),
    "4": (({}, {"tenderness_calf": True}, {}), ({"calf_pain": True}, {}, {})),
    "5": (({}, {"whole_leg_swollen": True}, {}), ({}, {"effusion": True}, {})),
    "6": (({}, {"calf_girth": 38.3}, {"calf_girth": 35.3}), ({}, {"calf_girth": 38.2}, {"calf_girth": 35.3})),
    "7": (
        ({}, {"pitting_oedema": True}, {"pitting_oedema": False}),
        ({}, {"pitting_oedema": True}, {"pitting_oedema": True}),
    ),
    "8": (({}, {"superficial_veins": True}, {}), ({}, {"superficial_veins": False}, {})),
    "9": (({"previous_dvt": True}, {}, {}), ({"previous_dvt": False}, {}, {})),
}


def sure_2003(*seen: Seen) -> int:
    """The sure points of a right leg examined and asked about."""
    said = {item: answer for each, _, _ in seen for item, answer in each.items()}
    here = {sign: found for _, each, _ in seen for sign, found in each.items()}
    there = {sign: found for _, _, each in seen for sign, found in each.items()}
    return points_2003(vein_facts(Knee(exam(here, there, said=said), RIGHT, PROTOCOL))).sure


def published() -> dict[str, str]:
    """What each item of the published table is worth, by its number."""
    table = Path(str(edition_folder(LATEST))) / "decision_rules" / "wells_2003.csv"
    rows = list(csv.DictReader(table.read_text("utf-8").splitlines()))
    return {row["criterion_no"]: row["threshold"] for row in rows if row["criterion_no"].isdigit()}


def test_every_item_of_the_published_table_is_worth_its_points() -> None:
    """Each of nine items gives one point by itself and none when it just fails, all together nine."""
    worth = published()
    assert set(ITEMS) | {"10"} == set(worth)
    for number, (scores, misses) in ITEMS.items():
        assert worth[number].startswith("+1")
        assert (sure_2003(scores), sure_2003(misses)) == (1, 0), number
    assert sure_2003(*(scores for scores, _ in ITEMS.values())) == 9
    assert int(worth["10"]) == points_2003(VeinFacts(alternative_as_likely=True)).sure == -2


def test_an_answer_to_the_old_question_never_adds_to_surgery() -> None:
    """Bed rest and surgery are one item (Wells 2003): immobilised, nobody said how, after surgery is 1."""
    old: Seen = ({"immobilised_recently": True}, {}, {})
    surgery: Seen = ({"major_surgery_12_weeks": True}, {}, {})
    plaster: Seen = ({"leg_paralysed_or_in_plaster": True}, {}, {})
    assert (sure_2003(old), sure_2003(surgery), sure_2003(old, surgery)) == (1, 1, 1)
    assert sure_2003(old, surgery, plaster) == 2


def test_the_alarm_says_points_threshold_and_what_is_open() -> None:
    """Words: points so far, points possible, likely from 2, and an alternative for the doctor to judge."""
    seen = exam(
        {"tenderness_calf": True}, said={"immobilised_recently": True, "major_surgery_12_weeks": True}
    )
    alarm = next(each for each in cannot_wait(seen, protocol=PROTOCOL) if each.rule == "dvt_2003")
    assert alarm.action.startswith("Points so far: 2, at most 9; likely from 2.")
    assert "Another diagnosis at least as likely (-2): open for the doctor." in alarm.action
    assert "alternative" in {each.id for each in alarm.unknown}


@given(
    st.builds(
        VeinFacts,
        **{
            name: st.sampled_from([True, False, None])
            for name in (
                "active_cancer",
                "paralysis_or_plaster",
                "bed_rest_3_days",
                "immobilised",
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


def test_an_embolism_met_on_one_leg_asks_nothing_of_the_other() -> None:
    """Breathless with one leg swollen is an emergency already; with neither examined both are asked about."""
    swollen: dict[str, Found] = {"whole_leg_swollen": True, "tenderness_calf": True, "pitting_oedema": True}
    said: dict[str, Answer] = {"breathless_or_chest_pain": True}
    alarms = {
        each.side: each.verdict
        for each in cannot_wait(exam(swollen, said=said), protocol=PROTOCOL)
        if each.rule == "embolism"
    }
    assert alarms == {RIGHT: MET}
    neither = cannot_wait(exam({}, said=said), protocol=PROTOCOL)
    assert [each.verdict for each in neither if each.rule == "embolism"] == [OPEN, OPEN]


def test_oedema_of_both_shins_alike_is_no_question_about_a_clot() -> None:
    """Heart and kidneys swell both legs; one leg alone, or with a sore calf, stays a question."""
    shin: dict[str, Found] = {"pitting_oedema": True}
    both = exam(shin, shin, age=79, days=200, complaint=(RIGHT, LEFT))
    assert verdict(both, "dvt_2003") is None
    assert verdict(both, "dvt_suspected") is None
    assert verdict(exam(shin, {"pitting_oedema": False}, age=79, days=200), "dvt_2003") is OPEN
    sore: dict[str, Found] = {**shin, "tenderness_calf": True}
    assert verdict(exam(sore, shin, age=79, days=200, complaint=(RIGHT, LEFT)), "dvt_2003") is OPEN


def test_a_calf_that_popped_without_any_risk_is_asked_about_and_no_alarm() -> None:
    """Kicked in the calf while sprinting; with a risk, or swollen, two signs ask for the test today."""
    calf: dict[str, Found] = {"tenderness_calf": True}
    said: dict[str, Answer] = {
        "calf_pain": True, "pop_heard": True, "active_cancer": False, "leg_paralysed_or_in_plaster": False,
        "bed_rest_3_days": False, "major_surgery_12_weeks": False, "previous_dvt": False,
    }  # fmt: skip
    sprint = Mechanism.OVERUSE
    assert verdict(exam(calf, said=said, days=1, mechanism=sprint), "dvt_suspected") is OPEN
    clotted = {**said, "previous_dvt": True}
    assert verdict(exam(calf, said=clotted, days=1, mechanism=sprint), "dvt_suspected") is MET
    assert verdict(exam(calf, said=clotted, days=1, mechanism=sprint), "dvt_2003") is MET
    swollen: dict[str, Found] = {**calf, "whole_leg_swollen": True}
    assert verdict(exam(swollen, said=said, days=1, mechanism=sprint), "dvt_suspected") is MET
    silent = {**said, "pop_heard": False}
    assert verdict(exam(calf, said=silent, days=1, mechanism=sprint), "dvt_suspected") is MET


def test_one_leg_sign_beside_a_risk_is_a_suspicion() -> None:
    """NICE NG158 suspects a swollen or painful leg; without a risk one sign stays a question (judgement)."""
    swollen: dict[str, Found] = {"calf_girth": True}
    for risk in ("immobilised_recently", "active_cancer", "major_surgery_12_weeks", "previous_dvt"):
        assert verdict(exam(swollen, days=4, said={risk: True}), "dvt_suspected") is MET, risk
        assert verdict(exam(swollen, days=4, said={risk: False}), "dvt_suspected") is OPEN, risk
    aches: dict[str, Answer] = {"calf_pain": True, "active_cancer": True}
    assert verdict(exam(said=aches), "dvt_suspected") is MET
    assert verdict(exam(said={**aches, "activity_pain": True}), "dvt_suspected") is not MET


def test_a_calf_that_swells_and_pits_alone_has_two_signs() -> None:
    """The score of 2003 counts swelling and oedema apart; of both shins alike the oedema says nothing."""
    leg: dict[str, Found] = {"calf_girth": True, "pitting_oedema": True}
    assert verdict(exam(leg, days=3), "dvt_suspected") is MET
    assert verdict(exam(leg, {"pitting_oedema": False}, days=3), "dvt_suspected") is MET
    assert verdict(exam(leg, {"pitting_oedema": True}, days=3), "dvt_suspected") is not MET
    assert verdict(exam(leg, days=3, said={"old_leg_swelling": True}), "dvt_suspected") is not MET
