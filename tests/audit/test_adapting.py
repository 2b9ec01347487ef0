import json
import re
from datetime import date
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fabella.anatomy import Side, other
from fabella.audit import (
    AdaptedCase,
    CaseFinding,
    PublishedCase,
    adapt,
    lesions_of,
    packaged_cases,
    read_cases,
)
from fabella.audit.adapting import SIDE_NOT_STATED
from fabella.audit.entries import load_entries
from fabella.errors import InputError
from fabella.protocol import load_protocol
from fabella.record import Finding, State, check_examination, read_examination, write_examination

PROTOCOL = load_protocol()
TODAY = date(2030, 1, 1)
CASES = {case.id: case for case in packaged_cases()}
ADAPTED = {name: adapt(case, protocol=PROTOCOL) for name, case in CASES.items()}

SET_ASIDE = {
    ("C010", "fixed_flexion"),  # 30 degrees at first, 5 degrees two weeks later: the first counts
    ("C087", "homans"),  # the protocol leaves it out
}


def case(**fields: Any) -> AdaptedCase:
    """An invented case as an examination."""
    findings = tuple(
        CaseFinding(**dict(zip(("sign", "value", "side", "note"), row, strict=False)))
        for row in fields.pop("findings", ())
    )
    history = tuple(fields.pop("history", {}).items())
    made = PublishedCase(id="made", source="invented", history=history, findings=findings, **fields)
    return adapt(made, protocol=PROTOCOL)


def found(adapted: AdaptedCase, sign: str, side: Side | None = None) -> Finding:
    """What is recorded of a sign; it must be recorded."""
    finding = adapted.examination.finding(sign, side)
    assert finding is not None, adapted
    return finding


# ---------------------------------------------------------------- the packaged cases


@pytest.mark.parametrize("name", CASES)
def test_every_packaged_case_is_read_in_full(name: str) -> None:
    """No finding and no answer of a packaged case is left unread."""
    assert ADAPTED[name].unread == ()


def test_what_is_set_aside_is_known_and_justified() -> None:
    """Only two findings of the packaged cases do not enter, both for a reason."""
    assert {(name, left.sign) for name, each in ADAPTED.items() for left in each.set_aside} == SET_ASIDE


@pytest.mark.parametrize("name", CASES)
def test_every_packaged_case_becomes_a_valid_examination(name: str) -> None:
    """The examination passes the reader's own validation, and its file reads back as itself."""
    examination = ADAPTED[name].examination
    check_examination(examination, protocol=PROTOCOL, today=TODAY)
    assert read_examination(write_examination(examination), protocol=PROTOCOL, today=TODAY) == examination


@pytest.mark.parametrize("name", CASES)
def test_the_side_of_a_packaged_case_is_kept(name: str) -> None:
    """The knees complained of are those of the case, and one not stated is the right and said to be so."""
    expected = {"both": tuple(Side), "left": (Side.LEFT,)}.get(CASES[name].side, (Side.RIGHT,))
    assert ADAPTED[name].examination.context.complaint == expected
    assert (SIDE_NOT_STATED in ADAPTED[name].conventions) is (CASES[name].side == "unspecified")


def test_the_diagnosis_never_enters() -> None:
    """Neither a diagnosis nor the note of who gathered the case is in the examination."""
    for name, adapted in ADAPTED.items():
        text = write_examination(adapted.examination).replace(CASES[name].source, "")
        assert not re.search(CASES[name].primary_diagnosis, text), name


def test_the_packaged_cases_name_their_source_and_no_address() -> None:
    """Each case has a source; none says where it was seen, or names a product."""
    assert all(each.source for each in CASES.values())
    for row in json.loads(json.dumps([each.note + each.source for each in CASES.values()])):
        assert "http" not in row


def test_every_diagnosis_of_the_packaged_cases_is_in_the_model_or_incidental() -> None:
    """What the cases are about can be concluded at all."""
    assert {name for name, each in CASES.items() if not lesions_of(each.primary_diagnosis)} == set()
    others = {name for each in CASES.values() for name in each.diagnoses if not lesions_of(name)}
    assert others == {"osteochondroma_incidental"}


def test_a_group_statement_reads_as_a_doctor_means_it() -> None:
    """C093: an unremarkable knee has no effusion, moves, is stable; nothing is said of hip or vessels."""
    examination = ADAPTED["C093"].examination
    assert examination.state("effusion", Side.RIGHT) is State.NORMAL
    assert examination.state("lachman", Side.RIGHT) is State.NORMAL
    assert examination.state("hip_rotation_reduced", Side.RIGHT) is State.ABNORMAL  # stated by itself
    assert examination.state("distal_pulses", Side.RIGHT) is State.NOT_EXAMINED


def test_a_statement_about_the_other_knee_stays_there() -> None:
    """C082: the contralateral knee is normal; the painful one keeps its own findings."""
    examination = ADAPTED["C082"].examination
    assert examination.state("mcmurray", Side.RIGHT) is State.NORMAL
    assert found(ADAPTED["C082"], "passive_flexion", Side.LEFT).value == 110
    assert examination.state("passive_flexion", Side.RIGHT) is State.NORMAL


# ---------------------------------------------------------------- sides


@pytest.mark.parametrize(
    ("side", "written", "expected"),
    [
        ("left", "left", {Side.LEFT}),
        ("left", "right", {Side.RIGHT}),
        ("left", "", {Side.LEFT}),
        ("left", "unspecified", {Side.LEFT}),
        ("left", "both", set(Side)),
        ("left", "contralateral", {Side.RIGHT}),
        ("right", "bilateral", set(Side)),
        ("right", "R", {Side.RIGHT}),
        ("both", "", set(Side)),
        ("unspecified", "unspecified", {Side.RIGHT}),
        ("", "", {Side.RIGHT}),
    ],
)
def test_a_finding_lands_on_the_knee_it_names(side: str, written: str, expected: set[Side]) -> None:
    """A side is never changed; without one the finding belongs to the knee complained of."""
    adapted = case(side=side, findings=[("lachman", "positive", written)])
    assert {finding.side for finding in adapted.examination.findings} == expected


def test_a_side_that_is_not_understood_is_reported() -> None:
    """A finding on "upper" is left out, and said to be."""
    adapted = case(side="left", findings=[("lachman", "positive", "upper")])
    assert adapted.examination.findings == ()
    assert [left.sign for left in adapted.unread] == ["lachman"]


def test_the_side_in_a_name_counts() -> None:
    """A normal contralateral knee says nothing about the knee complained of."""
    adapted = case(side="left", findings=[("contralateral_knee", "normal", "")])
    assert {finding.side for finding in adapted.examination.findings} == {Side.RIGHT}


def test_a_case_without_a_side_takes_that_of_its_findings() -> None:
    """When all findings are on the left, so is the complaint."""
    adapted = case(findings=[("lachman", "positive", "left"), ("effusion", "large", "left")])
    assert adapted.examination.context.complaint == (Side.LEFT,)
    assert adapted.conventions


# ---------------------------------------------------------------- one statement beside another


def test_a_wide_statement_is_silent_where_a_finding_speaks() -> None:
    """Otherwise normal does not deny the swelling, the block and the medial tenderness that were stated."""
    stated = [("fixed_flexion", "10 deg"), ("joint_line_tenderness_medial", "positive")]
    swollen = wide(*stated, ("swelling", "positive"))
    assert not swollen & {"effusion", "passive_extension", "joint_line_tenderness"}
    assert {"lachman", "mcmurray"} <= swollen
    assert "passive_flexion" in wide(*stated)


def wide(*stated: tuple[str, str]) -> set[str]:
    """The signs recorded of a knee of which these are stated and the rest is "normal"."""
    adapted = case(side="right", findings=[("examination_otherwise", "normal"), *stated])
    return {finding.sign for finding in adapted.examination.findings}


def test_otherwise_normal_says_less_of_a_knee_that_is_seen_to_be_ill() -> None:
    """A swollen knee was not found to move freely; a hot or deformed one was not put through the tests.

    A septic or dislocated joint is spared (common practice), so that silence about its tests is no negative.
    """
    moves, tests = {"passive_flexion", "passive_extension"}, {"lachman", "valgus_stress_30", "mcmurray"}
    assert moves | tests <= wide(("swelling", "negative"), ("warmth", "negative"))
    assert not moves & wide(("swelling", "mild"))
    assert tests <= wide(("swelling", "mild"))
    for sign in ("warmth", "erythema", "deformity"):
        assert not (moves | tests) & wide((sign, "positive")), sign
        assert "effusion" in wide((sign, "positive")), sign


def test_no_tenderness_elsewhere_is_silent_where_tenderness_was_stated() -> None:
    """It denies the usual sites but those stated, and none when only a whole region was said to be tender.

    A region such as "bony" holds sites that nobody named.
    """
    told = case(
        side="right",
        findings=[("tenderness_tibial_tubercle", "positive"), ("tenderness_elsewhere", "negative")],
    ).examination
    assert told.state("tenderness_tibial_tubercle", Side.RIGHT) is State.ABNORMAL
    assert told.state("tenderness_patella", Side.RIGHT) is State.NORMAL
    region = case(
        side="right", findings=[("bony_tenderness", "positive"), ("tenderness_elsewhere", "negative")]
    ).examination
    assert region.state("tenderness_tibial_tubercle", Side.RIGHT) is State.NOT_EXAMINED
    assert region.state("joint_line_tenderness_medial", Side.RIGHT) is State.NORMAL


def test_the_first_statement_stands_and_the_second_is_set_aside() -> None:
    """Of two results of one sign the first counts, but a result goes before "could not be tested"."""
    adapted = case(
        side="right", findings=[("lachman", "negative"), ("lachman", "positive", "", "a week later")]
    )
    assert found(adapted, "lachman", Side.RIGHT).state is State.NORMAL
    assert [left.sign for left in adapted.set_aside] == ["lachman"]
    adapted = case(side="right", findings=[("lachman", "guarded"), ("lachman", "grade 2")])
    assert found(adapted, "lachman", Side.RIGHT).level == "2+"


def test_findings_that_contradict_each_other_are_reported() -> None:
    """A knee cannot bend to 20 degrees and be fixed at 30: the later statement is left out and said to be."""
    adapted = case(side="right", findings=[("fixed_flexion", "30 deg"), ("flexion_range", "20 deg")])
    assert [finding.sign for finding in adapted.examination.findings] == ["fixed_flexion"]
    assert [left.sign for left in adapted.unread] == ["passive_flexion"]


def test_an_impossible_number_is_reported() -> None:
    """400 degrees of flexion enter nothing."""
    adapted = case(side="right", findings=[("flexion_range", "400 deg")])
    assert adapted.examination.findings == ()
    assert len(adapted.unread) == 1


# ---------------------------------------------------------------- history


def test_weight_bearing_belongs_to_the_injury_or_to_now() -> None:
    """After an injury it is asked of that moment; a child that stopped walking cannot bear weight now."""
    hurt = case(side="left", mechanism="Twisted at football", history={"unable_to_weight_bear": True})
    assert hurt.examination.history == {"unable_to_weight_bear_at_injury": True}
    ill = case(side="left", mechanism="No injury; fever", history={"unable_to_weight_bear": True})
    assert found(ill, "unable_to_weight_bear", Side.LEFT).state is State.ABNORMAL
    assert ill.examination.history == {"fever": True}


def test_weight_bearing_stays_with_the_knee_that_is_named() -> None:
    """With both knees complained of, the one that a finding names is the one that bears no weight."""
    adapted = case(side="both", findings=[("unable_to_weight_bear_at_injury", "positive", "left")])
    assert found(adapted, "unable_to_weight_bear", Side.LEFT).state is State.ABNORMAL
    assert adapted.examination.finding("unable_to_weight_bear", Side.RIGHT) is None


def test_what_fluctuates_is_the_lump_where_there_is_one() -> None:
    """Fluctuation of a popliteal mass is no effusion: it tells that the mass holds fluid."""
    lump = case(side="right", findings=[("popliteal_mass", "6 cm"), ("fluctuation", "positive")])
    assert found(lump, "mass_firm_fixed", Side.RIGHT).state is State.NORMAL
    assert lump.examination.finding("cross_fluctuation", Side.RIGHT) is None
    swollen = case(side="right", findings=[("swelling", "positive"), ("fluctuation", "positive")])
    assert found(swollen, "cross_fluctuation", Side.RIGHT).state is State.ABNORMAL


def test_what_else_was_hurt_in_an_accident_is_no_joint_disease() -> None:
    """An ankle hurt with the knee is no answer about other joints; one that ached by itself is."""
    hurt = case(mechanism="Knee forced into varus in a tackle; also ankle pain").examination.history
    assert "other_joints_painful" not in hurt
    ill = case(mechanism="Gradual pain of the knee; also ankle pain").examination.history
    assert ill["other_joints_painful"] is True


def test_a_girth_against_the_other_belongs_to_both_knees() -> None:
    """Of "38 cm against 35 cm" the first is this knee's and the second the other's; with no side, neither."""
    adapted = case(side="left", findings=[("calf_girth", "38 cm against 35 cm", "left")])
    assert [found(adapted, "calf_girth", side).value for side in (Side.LEFT, Side.RIGHT)] == [38.0, 35.0]
    unsided = case(side="left", findings=[("thigh_girth", "48 cm versus 45 cm", "both")])
    assert unsided.examination.findings == ()
    assert [left.sign for left in unsided.unread] == ["thigh_girth"]


def test_a_limp_of_the_story_is_a_finding_unless_the_gait_was_seen() -> None:
    """A story of a limp counts as one; a gait that was watched stands over it."""
    told = "Two weeks of pain and a limp"
    assert found(case(mechanism=told), "antalgic_gait", Side.RIGHT).state is State.ABNORMAL
    watched = case(mechanism=told, findings=[("gait", "normal")])
    assert found(watched, "antalgic_gait", Side.RIGHT).state is State.NORMAL
    assert case(mechanism="Two weeks of pain, no limp").examination.findings == ()


def test_swelling_that_no_injury_began_is_not_timed_from_one() -> None:
    """Sudden swelling without an injury was at its worst within a day; after one it came at once."""
    ill = case(mechanism="Sudden swelling, no injury").examination.history
    assert ill == {"maximal_within_a_day": True, "swelling_noticed": True}
    night = case(mechanism="No injury; pain and swelling of the knee overnight").examination.history
    assert night == {"maximal_within_a_day": True, "swelling_noticed": True}
    hurt = case(mechanism="Twisted at football, sudden swelling").examination.history
    assert hurt["swelling_onset_hours"] == 0.0
    assert "maximal_within_a_day" not in hurt


def test_a_stated_answer_stands_over_the_story() -> None:
    """What the history denies, the words of the mechanism do not bring back."""
    adapted = case(side="left", mechanism="Twist, knee gave way", history={"giving_way": False})
    assert adapted.examination.history["giving_way"] is False


@pytest.mark.parametrize(
    ("item", "answer", "expected"),
    [
        ("swelling_onset_hours", 2, {"swelling_onset_hours": 2.0}),
        ("swelling_onset_hours", "immediate", {"swelling_onset_hours": 0.0}),
        ("swelling_onset_hours", True, {"swelling_noticed": True}),
        ("instability", True, {"giving_way": True}),
        ("pop", "yes", {"pop_heard": True}),
        ("nocturnal pain", False, {"night_pain": False}),
        ("fever", 38.9, {"fever": True}),
        ("morning_stiffness_min", 60, {"morning_stiffness_min": 60.0}),
        ("theatre sign", "no", {"theatre_sign": False}),
    ],
)
def test_an_answer_finds_its_question(item: str, answer: Any, expected: dict[str, Any]) -> None:
    """Items of the history are known by their id, their aliases and everyday names."""
    assert case(history={item: answer}).examination.history == expected


def test_an_unknown_question_is_reported() -> None:
    """An item that is no question of ours is left out, and said to be."""
    assert [left.sign for left in case(history={"shoe_size": 43}).unread] == ["shoe_size"]


def test_what_cannot_be_true_of_a_patient_is_reported() -> None:
    """An age of 200 years, an unknown setting and a complaint older than the patient are left out."""
    adapted = case(age_years=200.0, setting="moon", onset_days=-1.0)
    assert adapted.examination.patient.age_years is None
    assert {left.sign for left in adapted.unread} == {"age", "setting", "onset_days"}


# ---------------------------------------------------------------- any case at all

NAMES = [entry.name for entry in load_entries().by_bag.values()] + [sign.id for sign in PROTOCOL.signs]
VALUES = [
    *(
        "positive",
        "negative",
        "normal",
        "absent",
        "present",
        "abnormal",
        "full",
        "unable",
        "guarded",
        "limited",
    ),
    *(
        "1+",
        "grade 2",
        "mild",
        "large",
        "10 mm",
        "25 deg",
        "-8 deg",
        "30-110",
        "0-135 deg",
        "lacks 5 deg",
        "5/9",
    ),
    *(
        "37.8 C",
        "not assessable",
        "pain and click",
        "firm end point",
        "400 deg",
        "99999",
        "5-0-140",
        "0/10/90",
    ),
    *("medial", "lateral joint line", "5 cm, hard", "warm", "varus", "< 2 s", "not done", ""),
]
texts = st.text(max_size=30)


@st.composite
def published(draw: st.DrawFn) -> PublishedCase:
    """Any case, partly in the words of the trade, partly in nonsense."""
    finding = st.builds(
        CaseFinding,
        sign=st.sampled_from(NAMES) | texts.filter(bool),
        side=st.sampled_from(["left", "right", "both", "", "unspecified", "contralateral"]) | texts,
        value=st.sampled_from(VALUES) | texts,
        note=st.sampled_from(["", "medial pain", "at 0 and 30 deg", "prominent, warm"]) | texts,
    )
    questions = st.sampled_from([sign.id for sign in PROTOCOL.history()]) | texts
    answer = st.booleans() | st.floats(allow_nan=False, allow_infinity=False) | texts
    return PublishedCase(
        id=draw(texts),
        source=draw(texts) or "x",
        age_years=draw(st.none() | st.floats(-5, 150)),
        sex=draw(st.sampled_from(["", "M", "F"]) | texts),
        setting=draw(st.sampled_from(["", "emergency"]) | texts),
        side=draw(st.sampled_from(["left", "right", "both", "unspecified"])),
        acuity=draw(st.sampled_from(["", "acute", "chronic"]) | texts),
        onset_days=draw(st.none() | st.floats(-10, 10**6)),
        mechanism=draw(st.sampled_from(["", "Twisted, no fever or locking", "No injury"]) | texts),
        history=tuple(draw(st.dictionaries(questions, answer, max_size=5)).items()),
        findings=tuple(draw(st.lists(finding, max_size=8))),
    )


@settings(max_examples=200)
@given(published())
def test_whatever_a_case_says_the_examination_is_valid(made: PublishedCase) -> None:
    """No case, however odd, makes an examination that its own reader would refuse."""
    check_examination(adapt(made, protocol=PROTOCOL).examination, protocol=PROTOCOL, today=TODAY)


@settings(max_examples=200)
@given(
    st.sampled_from(NAMES),
    st.sampled_from(VALUES),
    st.sampled_from(list(Side)),
    st.sampled_from(["left", "right", "both"]),
)
def test_nothing_ever_lands_on_the_wrong_side(name: str, value: str, side: Side, complaint: str) -> None:
    """A finding that names a knee is recorded on that knee or not at all, whichever knee hurts."""
    adapted = case(side=complaint, findings=[(name, value, side)])
    assert {finding.side for finding in adapted.examination.findings} <= {side, None}
    assert other(side) not in adapted.examination.sides


@settings(max_examples=100)
@given(published())
def test_no_finding_is_dropped_in_silence(made: PublishedCase) -> None:
    """A case with findings has something to show for them: an entry, or a word on why there is none."""
    adapted = adapt(made, protocol=PROTOCOL)
    shown = (adapted.examination.findings, adapted.examination.history, adapted.unread, adapted.set_aside)
    assert not made.findings or any(shown)


# ---------------------------------------------------------------- the file


def test_a_wrong_file_is_refused_with_everything_that_is_wrong() -> None:
    """One message names the case and the key of each problem."""
    rows = [{"id": "A", "onset_days": "soon", "red_flag": "yes"}, {"source": "x"}, 7, {"id": "A"}]
    with pytest.raises(InputError) as refused:
        read_cases(json.dumps(rows))
    places = [problem.place for problem in refused.value.problems]
    assert places == ["A, onset_days", "A, red_flag", "case 2, id", "case 3", "case A"]


@pytest.mark.parametrize("text", ["", "{", '"cases"', "[" * 10**5])
def test_what_is_no_list_of_cases_is_refused(text: str) -> None:
    """A broken file is refused in words."""
    with pytest.raises(InputError, match="JSON"):
        read_cases(text)


def test_keys_beside_the_format_are_left_alone() -> None:
    """A list kept for other uses as well is read; nulls count as nothing."""
    row = {"id": "A", "seen_at": "somewhere", "age": "7 months", "findings": None, "history": {"fever": None}}
    (only,) = read_cases(json.dumps([row]))
    assert (only.age_years, only.findings, only.history) == (0.58, (), ())
