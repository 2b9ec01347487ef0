"""An action whose time has passed is worded for now."""

from dataclasses import replace

import pytest

from fabella.errors import InputError
from fabella.flags import Alarm, cannot_wait, load_rules
from fabella.flags.knee import Knee
from fabella.flags.rule import Rule
from fabella.flags.rules import read_rules
from fabella.flags.timing import action_now
from fabella.record import Acuity, Answer, Examination, Mechanism, ProcedureName, Sex
from tests.flags.build import PROTOCOL, RIGHT, Found, exam

EARLY, LATE = "Repair is best within 72 hours", "late repair or reconstruction"
TOTAL = ProcedureName.TOTAL_KNEE_REPLACEMENT
ONE_RULE = """
[[rule]]
id = "one"
name = "One"
urgency = "same_day"
action = "Refer."
source = "common practice"
doi_or_pmid = ""
recalled = false
applies = "Everybody."
excludes = "Nobody."
combine = "any one"
decides = []
contraindicates = []
settled_by = []
criteria = [{ id = "a", words = "a", ask = "ask" }]
"""


def told(examination: Examination, rule: str) -> Alarm:
    """The one alarm of a rule."""
    (alarm,) = (each for each in cannot_wait(examination, protocol=PROTOCOL) if each.rule == rule)
    return alarm


def torn_tendon(days: float | None, acuity: Acuity | None = None) -> str:
    """What is asked for when the leg is not lifted, so many days after a fall."""
    found = {"straight_leg_raise": "unable"}
    fall = Mechanism.FALL_ON_KNEE
    return told(exam(found, days=days, acuity=acuity, mechanism=fall), "extensor_rupture").action


@pytest.mark.parametrize("days", [4, 42])
def test_a_tendon_torn_weeks_ago_is_not_repaired_within_hours(days: float) -> None:
    """Late repair or reconstruction is decided then."""
    assert LATE in torn_tendon(days)
    assert EARLY not in torn_tendon(days)


@pytest.mark.parametrize("days", [0, 3, None])
def test_in_time_or_without_a_day_the_action_stands(days: float | None) -> None:
    """Only a time that is known to have passed changes the words."""
    assert EARLY in torn_tendon(days)
    assert LATE not in torn_tendon(days)


def test_a_word_for_long_stands_for_days() -> None:
    """A complaint of some weeks, without a number, is beyond the first days."""
    assert LATE in torn_tendon(None, Acuity.SUBACUTE)


def test_a_lateral_side_torn_five_weeks_ago_is_reconstructed() -> None:
    """Within three weeks it is repaired: the day is counted from the injury."""

    def action(days: float) -> str:
        found = {"varus_stress_30": "3+"}
        return told(exam(found, days=days, mechanism=Mechanism.TWIST), "lateral_side_torn").action

    assert "within three weeks of the injury" in action(10)
    assert "reconstruction is weighed" in action(35)
    assert "within three weeks of the injury" not in action(35)


def test_manipulation_counts_from_the_operation() -> None:
    """A complaint of years before a replacement says nothing about it."""

    def action(days: int) -> str:
        examination = exam({"passive_flexion": 60}, days=2000, operated=(TOTAL, days))
        return told(examination, "stiff_after_operation").action

    assert "does most in the first twelve weeks" in action(60)
    assert "does less after the first twelve weeks" in action(120)


@pytest.mark.parametrize(
    ("window", "says"),
    [
        ('{ within = "Operate.", days = 3, since = "onset", late = "Wait." }', "is no passage of the action"),
        ('{ within = "Refer.", days = 3, since = "birth", late = "Wait." }', "until when"),
        ('{ within = "Refer.", days = 3, late = "Wait." }', "until when"),
    ],
)
def test_a_window_that_changes_nothing_is_refused(window: str, says: str) -> None:
    """It names a passage of the action, the days, what they count from, and what is said later."""
    with pytest.raises(InputError, match=says):
        read_rules(ONE_RULE.replace("decides = []", f"decides = []\nwindows = [{window}]"))


@pytest.mark.parametrize("rule", [rule for rule in load_rules().values() if rule.of_the_young])
def test_what_concerns_the_young_is_not_told_of_the_old(rule: Rule) -> None:
    """A passage stands for whoever is younger, and for whom no age is known; older people are spared it."""

    def action(age: float | None) -> str:
        return action_now(rule, Knee(exam(age=age), RIGHT, PROTOCOL))

    for young in rule.of_the_young:
        assert (young.passage in action(young.under_years - 1)) is not bool(young.whole)
        assert (young.becomes or young.passage) in action(young.under_years - 1)
        assert young.passage in action(None)
        assert young.passage not in action(young.under_years)
    if rule.id != "child_hip":  # a rule of children alone
        assert "child" not in action(45).casefold()
    assert action(45).endswith(".")
    assert ".." not in action(45)


def test_a_passage_for_the_young_that_the_action_lacks_is_refused() -> None:
    """It names a passage of the action word for word, and the age."""
    for wrong in (
        '{ passage = "Operate.", under_years = 16 }',
        '{ passage = "Refer." }',
        '{ passage = "Refer.", under_years = 16, whole = "Refer." }',
        '{ passage = "Refer.", under_years = 16, whole = "Operate.", becomes = "Wait." }',
    ):
        with pytest.raises(InputError, match="is no passage of the action with an age"):
            read_rules(ONE_RULE.replace("decides = []", f"decides = []\nof_the_young = [{wrong}]"))


def of_a_woman(age: float, sex: Sex | None, *, pregnant: bool | None, rule: str) -> str:
    """What a rule says of a hip that hurts in training, or of a knee that cannot carry after a fall."""
    return alarm_of_a_woman(age, sex, pregnant=pregnant, rule=rule).action


def alarm_of_a_woman(age: float, sex: Sex | None, *, pregnant: bool | None, rule: str) -> Alarm:
    """A rule of that hip, or of that knee."""
    said: dict[str, Answer] = {"training_increase": True}
    if pregnant is not None:
        said["pregnancy"] = pregnant
    found: dict[str, Found] = {
        "hip_rotation_pain": True, "unable_to_weight_bear": True, "tenderness_medial_tibial_plateau": True,
    }  # fmt: skip
    examined = exam(found, age=age, days=1, mechanism=Mechanism.FALL_ON_KNEE, said=said)
    return told(replace(examined, patient=replace(examined.patient, sex=sex)), rule)


@pytest.mark.parametrize(
    ("age", "sex", "pregnant", "words"),
    [
        (27, Sex.FEMALE, True, "MRI of the hip in place of its films"),
        (27, None, True, "MRI of the hip in place of its films"),
        (27, Sex.FEMALE, None, "Ask about pregnancy before the hip is filmed"),
        (27, Sex.FEMALE, False, ""),
        (27, None, None, ""),
        (27, Sex.MALE, None, ""),
        (56, Sex.FEMALE, None, ""),
    ],
)
def test_a_hip_is_not_filmed_before_pregnancy_was_asked_about(
    age: float, sex: Sex | None, pregnant: bool | None, words: str
) -> None:
    """Common practice of X-ray departments from 12 to 55; MRI shows a break of the hip without rays."""
    action = of_a_woman(age, sex, pregnant=pregnant, rule="adult_hip")
    assert words in action
    assert ("regnan" in action) is bool(words)


@pytest.mark.parametrize(("pregnant", "orders"), [(True, ()), (None, ("hip_radiograph",))])
def test_the_films_that_an_action_puts_last_are_not_ordered(
    pregnant: bool | None, orders: tuple[str, ...]
) -> None:
    """Else the plan names the films of a hip for which its own words ask for MRI."""
    assert alarm_of_a_woman(27, Sex.FEMALE, pregnant=pregnant, rule="adult_hip").orders == orders


def test_a_hip_that_is_not_filmed_asks_for_no_pregnancy() -> None:
    """It turns freely, so that its films are spared, and of them nothing is said."""
    free: dict[str, Found] = {"hip_internal_rotation": 40, "hip_rotation_pain": False}
    wasted: dict[str, Found] = {"quadriceps_wasting": "marked"}
    for found, words in ((wasted, "before the hip is filmed"), ({**wasted, **free}, "")):
        examined = exam(found, age=18, days=60)
        woman = replace(examined, patient=replace(examined.patient, sex=Sex.FEMALE))
        action = told(woman, "tumour_wasting_young").action
        assert words in action
        assert ("regnan" in action) is bool(words)


def test_a_knee_is_filmed_in_pregnancy_too() -> None:
    """The child lies outside the beam: what is needed is not put off."""
    rule = "tender_bone_not_weight_bearing"
    assert "is not put off" in of_a_woman(27, Sex.FEMALE, pregnant=True, rule=rule)
    assert "regnan" not in of_a_woman(27, Sex.FEMALE, pregnant=None, rule=rule)
