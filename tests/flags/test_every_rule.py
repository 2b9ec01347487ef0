"""Every rule, positive, negative and unknown."""

import pytest

from fabella.flags import cannot_wait, load_rules
from fabella.flags.decisions import DECISIONS, OF_THE_PERSON
from fabella.flags.knee import Knee
from tests.flags.build import LEFT, MET, OPEN, PROTOCOL, RIGHT, verdict, verdicts
from tests.flags.examples import EXAMPLES

RULES = pytest.mark.parametrize("rule", EXAMPLES)
OPENING = pytest.mark.parametrize("rule", [rule for rule, triple in EXAMPLES.items() if triple[2]])
NO_OPEN_STATE = {
    "lipohaemarthrosis",
    "dvt_in_pregnancy",
    "bruised_child",
    "child_alignment",
    "block_that_stayed",
    "extensor_torn_long_ago",
    "patella_long_displaced",
    "osteomyelitis_adult",
    "nerve_after_operation",
    "stiff_after_operation",
    "fracture_shown",
    "stress_fracture_shown",
    "artery_disease_shown",
    "artery_shown",
    "thrombosis_shown",
    "bone_infection_shown",
    "tumour_shown",
}  # one criterion, or only when measured


def test_every_rule_has_data_code_and_examples() -> None:
    """Rules, decisions and examples name the same ids."""
    assert set(load_rules()) == set(DECISIONS) == set(EXAMPLES)
    assert {rule for rule, triple in EXAMPLES.items() if triple[2] is None} == NO_OPEN_STATE


@RULES
def test_a_rule_is_met(rule: str) -> None:
    """With its criteria present the rule is met on the right, the knee complained of."""
    side = None if rule in OF_THE_PERSON else RIGHT
    assert verdict(EXAMPLES[rule][0], rule, side) is MET


@RULES
def test_a_rule_is_silent(rule: str) -> None:
    """With a necessary criterion known to fail the rule says nothing about the right knee."""
    side = None if rule in OF_THE_PERSON else RIGHT
    assert verdict(EXAMPLES[rule][1], rule, side) is None


@OPENING
def test_a_rule_is_open(rule: str) -> None:
    """With the deciding criterion unexamined the rule cannot be excluded, and asks about it."""
    examination = EXAMPLES[rule][2]
    assert examination is not None
    side = None if rule in OF_THE_PERSON else RIGHT
    (alarm,) = [a for a in cannot_wait(examination, protocol=PROTOCOL) if (a.rule, a.side) == (rule, side)]
    assert alarm.verdict is OPEN
    assert all(criterion.ask for criterion in alarm.unknown)
    assert len(alarm.met) + len(alarm.unknown) + len(alarm.unmet) == len(load_rules()[rule].criteria)


@RULES
def test_a_rule_of_one_side_never_leaks(rule: str) -> None:
    """A finding on the right never makes a rule met on the left."""
    assert verdict(EXAMPLES[rule][0], rule, LEFT) is not MET


@OPENING
def test_an_open_rule_becomes_neither_met_nor_silent_by_itself(rule: str) -> None:
    """Two readings of the same examination are equal."""
    examination = EXAMPLES[rule][2]
    assert examination is not None
    assert verdicts(examination) == verdicts(examination)


@RULES
def test_a_rule_that_others_rest_on_is_decided_once(rule: str) -> None:
    """Asked for again, a knee gives the reading that it gave first, and the rule says it by itself too."""
    knee = Knee(EXAMPLES[rule][0], RIGHT, PROTOCOL)
    first = knee.reading(DECISIONS[rule])
    assert knee.reading(DECISIONS[rule]) is first
    assert DECISIONS[rule](knee) == first


def test_alarms_come_in_order_of_need() -> None:
    """Met alarms come before open ones, and the most urgent first."""
    alarms = cannot_wait(EXAMPLES["vascular_injury"][0], protocol=PROTOCOL)
    assert alarms[0].rule == "vascular_injury"
    met = [alarm.verdict is MET for alarm in alarms]
    assert met == sorted(met, reverse=True)


@RULES
def test_one_knee_asked_about_has_its_own_alarms(rule: str) -> None:
    """Asked of one side, the rules say what they say of it when asked of both, and what is of the person."""
    for examination in filter(None, EXAMPLES[rule]):
        every = cannot_wait(examination, protocol=PROTOCOL)
        for side in (RIGHT, LEFT):
            own = cannot_wait(examination, protocol=PROTOCOL, sides=(side,))
            assert own == tuple(alarm for alarm in every if alarm.side in (side, None))
