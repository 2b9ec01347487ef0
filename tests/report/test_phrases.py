import re

import pytest

from fabella.flags import load_rules
from fabella.protocol import load_protocol
from fabella.record import Examination, Origin, State
from fabella.report.gather import gather, readings_of
from fabella.report.marks import sites
from fabella.report.phrases import load_phrases, said_normal
from fabella.report.plain_alarms import plain_alarm
from fabella.report.plate_layout import label_of
from fabella.report.reason_words import as_reason, bare_reason, look_again
from fabella.report.wording import described
from fabella.workup import Grounding, Reason, run_workup
from tests.flags.build import LEFT, RIGHT, Found, exam
from tests.report import made_up
from tests.report.made_up import OF_A_KNEE

PROTOCOL = load_protocol()


def test_every_sign_of_a_knee_is_dictated_in_one_group() -> None:
    """Each sign of the protocol that is examined on a side stands in exactly one group, and no other does."""
    grouped = [sign for group in load_phrases().groups for sign in (*group.no, *group.well)]
    assert sorted(OF_A_KNEE) == sorted(grouped)


def test_a_core_belongs_to_its_group_and_has_words() -> None:
    """What a group is judged by is part of it, and a group with a core says something when it is normal."""
    for group in load_phrases().groups:
        assert set(group.core) <= group.signs
        assert bool(group.core) == bool(group.whole or group.patient_well)


def test_words_for_signs_and_answers_belong_to_signs_and_answers() -> None:
    """Overrides name signs of a knee, or questions; the plate places signs of a knee only."""
    assert set(load_phrases().abnormal) <= set(OF_A_KNEE)
    assert all(PROTOCOL.sign(item).is_history for item in load_phrases().history)
    assert set(sites()) <= set(OF_A_KNEE)


def test_every_rule_has_plain_words_of_its_own() -> None:
    """The patient's page falls back on its general line for no rule that exists."""
    general = plain_alarm("no such rule")
    assert [rule for rule in load_rules() if plain_alarm(rule) == general] == []


def test_what_is_negative_is_not_called_firm() -> None:
    """A pivot shift and a lever sign are there or not there; "firm" of a Lachman is its end point."""
    assert said_normal("lachman") == "Lachman normal"
    assert said_normal("pivot_shift") == "no pivot shift"
    assert said_normal("lever_sign") == "no positive lever sign"


def test_a_finding_is_no_reason_in_the_words_of_its_absence() -> None:
    """Knock knees alike on both sides count as normal, yet the conclusion does not deny what was found."""
    workup = run_workup(exam({"valgus_alignment": "mild"}, {"valgus_alignment": "mild"}))
    rests = Grounding(published=0.0, derived=0.0, judgement=1.0)
    told = Reason("valgus_alignment", abnormal=False, weight_bits=-0.5, sources=(), grounding=rests)
    words = as_reason(told, RIGHT, readings_of(workup), PROTOCOL)
    assert words == "valgus alignment, mild, within normal limits"


def test_power_is_told_by_its_degree() -> None:
    """Power is not both reduced and a number: the degree says it."""
    workup = run_workup(exam({"knee_extension_strength": "4"}))
    (reading,) = readings_of(workup).of(RIGHT)
    assert described(reading) == "power of extension 4, against some resistance"


def test_findings_of_the_knee_not_complained_of_are_remarked() -> None:
    """A sound knee complained of beside a lax one not complained of may be the wrong side pressed."""
    lax: dict[str, Found] = {"lachman": "2+", "effusion": "moderate"}
    firm: dict[str, Found] = {"lachman": False, "effusion": False}
    said = "The right knee is complained of, yet only the left has findings: is the side right?"
    for right, left, side, told in (
        (firm, lax, RIGHT, said),
        (firm, lax, LEFT, ""),
        (lax, firm, RIGHT, ""),
        (firm, {**firm, "crepitus": "fine"}, RIGHT, ""),
        ({}, lax, RIGHT, ""),
    ):
        workup = run_workup(exam(right, left, complaint=(RIGHT,)))
        assert look_again(side, readings_of(workup), PROTOCOL) == told


def test_what_nobody_graded_is_told_by_its_noun() -> None:
    """A limp is a limp and redness redness; a Lachman without a grade says that it has none."""

    def told(sign: str) -> tuple[str, str]:
        stated = made_up.found(sign, RIGHT, State.ABNORMAL)
        examination = Examination(id="x", origin=Origin.PATIENT, findings=(stated,))
        (reading,) = gather(examination, (), load_protocol()).all
        return described(reading), label_of(reading) if sign in sites() else ""

    assert told("antalgic_gait") == ("limp", "")
    assert told("erythema") == ("redness", "redness")
    assert told("warmth") == ("warmth", "warmth")
    assert told("effusion_sweep") == ("fluid on the sweep test", "fluid on the sweep test")
    assert told("lachman") == ("Lachman, abnormal, grade not given", "Lachman, abnormal, grade not given")


@pytest.mark.parametrize(
    ("sign", "there", "gone"),
    [
        ("valgus_stress_30", "valgus opening at 30 degrees abnormal", "valgus stress at 30 degrees firm"),
        ("lachman", "Lachman abnormal", "Lachman normal"),
        ("effusion", "effusion", "no effusion"),
        ("mcmurray", "McMurray positive", "McMurray negative"),
        ("passive_flexion", "passive flexion abnormal", "passive flexion normal"),
        ("heel_height_difference", "heel-height difference, prone, abnormal", "heel height normal"),
        ("pop_heard", "pop heard or felt", "no pop heard or felt"),
    ],
)
def test_a_sign_that_is_told_without_its_grade_says_its_result(sign: str, there: str, gone: str) -> None:
    """As what spoke for or against in own hands: nobody is told a test without what came of it."""
    assert bare_reason(PROTOCOL.sign(sign), abnormal=True) == there
    assert bare_reason(PROTOCOL.sign(sign), abnormal=False) == gone


def test_what_was_not_there_is_named_in_the_singular() -> None:
    """Every noun stands behind "there was no", so that none is "tophi" or "veins"."""
    nouns = [
        *(noun for group in load_phrases().groups for noun in group.no.values()),
        *load_phrases().person.values(),
    ]
    heads = [
        re.split(r" (?:of|in|at|on|to|than|for|after|along|with|under|over|beyond) |,", each)[0]
        for each in nouns
    ]
    plural = [each for each in heads if re.search(r"(?:[^suia]s|i)$", each)]
    assert plural == []
