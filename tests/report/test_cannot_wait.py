"""What cannot wait, each matter once: rules that say the same are told together, and none is lost."""

import tomllib
from collections.abc import Mapping, Sequence
from importlib.resources import files

from fabella.anatomy import Side
from fabella.flags import load_rules
from fabella.report.cannot_wait import Matter, matters_of, urgent_matters
from fabella.workup import Alarm, AlarmVerdict, Urgency
from tests.report.made_up import LEFT, RIGHT

RULES = load_rules()
SAID_BY: Mapping[str, Sequence[str]] = tomllib.loads(
    files("fabella.report").joinpath("said_by.toml").read_text("utf-8")
)
SAID_TWICE: Mapping[str, Mapping[str, Sequence[str]]] = tomllib.loads(
    files("fabella.report").joinpath("said_twice.toml").read_text("utf-8")
)


def met(rule: str, side: Side | None, *criteria: str) -> Alarm:
    """A rule as packaged, met by some of its criteria; by all when none is named."""
    it = RULES[rule]
    chosen = tuple(each for each in it.criteria if not criteria or each.id in criteria)
    return Alarm(
        rule=rule,
        name=it.name,
        side=side,
        urgency=it.urgency,
        verdict=AlarmVerdict.MET,
        met=chosen,
        unknown=(),
        unmet=(),
        action=it.action,
        source=it.source,
        doi_or_pmid=it.doi_or_pmid,
        recalled=it.recalled,
        contraindicates=it.contraindicates,
    )


def told(*alarms: Alarm) -> list[tuple[str, str, list[str]]]:
    """Where each matter is, the rule that tells it, and the others met for it."""
    return [
        (each.told.where, each.told.rule, [one.rule for one in each.also])
        for each in matters_of(urgent_matters(alarms))
    ]


def test_rules_that_say_the_same_are_one_matter() -> None:
    """Two rules of the same fracture are told once, by the one that asks for more, with the other's name."""
    broken = (met("ottawa_knee", RIGHT), met("tender_bone_not_weight_bearing", RIGHT))
    assert told(*broken) == [("Right knee", "tender_bone_not_weight_bearing", ["ottawa_knee"])]
    septic = (met("septic_joint_child", LEFT), met("osteomyelitis_child", LEFT))
    assert told(*septic) == [("Left knee", "septic_joint_child", ["osteomyelitis_child"])]


def test_a_rule_is_told_with_another_on_the_same_knee_only() -> None:
    """What is met on one knee says nothing of the other, and alone every rule tells its own matter."""
    apart = (met("tender_bone_not_weight_bearing", RIGHT), met("ottawa_knee", LEFT))
    assert told(*apart) == [
        ("Right knee", "tender_bone_not_weight_bearing", []),
        ("Left knee", "ottawa_knee", []),
    ]
    assert [[rule] for rule in RULES] == [[each for _, each, _ in told(met(rule, RIGHT))] for rule in RULES]


def test_no_rule_is_lost_and_none_told_twice() -> None:
    """With every rule met on one knee each is named once, beside a rule that is no less pressing."""
    urgencies = list(Urgency)
    every = sorted((met(rule, RIGHT) for rule in RULES), key=lambda each: urgencies.index(each.urgency))
    matters = matters_of(urgent_matters(tuple(every)))
    assert len(matters) < len(RULES)
    assert sorted(one.rule for each in matters for one in (each.told, *each.also)) == sorted(RULES)
    said = {one.rule: one.source for each in matters for one in (each.told, *each.also)}
    assert all(said[rule].startswith(RULES[rule].source) for rule in RULES)


def test_a_rule_is_told_under_none_that_is_less_pressing() -> None:
    """Both columns of the table hold rules; those of the second are as urgent, and nothing is circular."""
    urgencies = list(Urgency)

    def above(rule: str) -> set[str]:
        others = SAID_BY.get(rule, ())
        return {*others, *(each for other in others for each in above(other))}

    for rule in SAID_BY:
        assert rule not in above(rule)
        for other in SAID_BY[rule]:
            assert urgencies.index(RULES[other].urgency) <= urgencies.index(RULES[rule].urgency), (
                rule,
                other,
            )


def test_both_knees_alike_are_one_matter() -> None:
    """The same rules met by the same criteria on both knees are told once, of both knees."""
    both = [met(rule, side) for rule in ("inflammatory_arthritis", "prolonged_stiffness") for side in Side]
    assert told(*both) == [("Both knees", "inflammatory_arthritis", ["prolonged_stiffness"])]
    by_less = met("prolonged_stiffness", LEFT, "swollen")
    assert len(told(*both[:3], by_less)) == 2


def test_both_knees_are_alike_when_they_are_told_alike() -> None:
    """A criterion that another one says in more words parts no two knees; a reason of the leader does."""
    tender = [met("tender_bone_not_weight_bearing", side) for side in Side]
    more, less = met("acute_knee_radiograph", RIGHT), met("acute_knee_radiograph", LEFT, "recent_injury")
    (matter,) = matters_of(urgent_matters((*tender, more, less)))
    assert matter.told.where == "Both knees"
    assert [each.told.where for each in matters_of(urgent_matters((tender[0], more, less)))] == [
        "Right knee",
        "Left knee",
    ]
    fewer = met("tender_bone_not_weight_bearing", LEFT, "recent_injury", "tender_bone", "cannot_bear_weight")
    assert len(matters_of(urgent_matters((tender[0], fewer)))) == 2


def test_criteria_told_together_are_not_repeated() -> None:
    """A criterion is left out that another says in the same words, or in more."""
    (matter,) = matters_of(
        urgent_matters((met("tender_bone_not_weight_bearing", RIGHT), met("acute_knee_radiograph", RIGHT)))
    )
    assert "effusion" in {each.words for each in RULES["acute_knee_radiograph"].criteria}
    assert "large or tense effusion" in matter.because
    assert "effusion" not in matter.because
    assert len(set(matter.because)) == len(matter.because)


def test_one_thing_in_two_wordings_is_said_once_by_the_stricter() -> None:
    """Where bearing weight stands in four rules of one fracture, the Ottawa rule tells it."""
    urgent = urgent_matters(
        (
            met("tender_bone_not_weight_bearing", RIGHT),
            met("ottawa_knee", RIGHT, "four_steps"),
            met("pittsburgh_knee", RIGHT),
            met("acute_knee_radiograph", RIGHT),
        )
    )
    (matter,) = matters_of(urgent)
    walking = [words for words in matter.because if "steps" in words or "weight" in words]
    assert walking == ["could not take four steps straight after the injury and cannot now"]
    assert "focal tenderness" not in matter.because
    assert [each.because for each in (matter.told, *matter.also)] == [each.because for each in urgent]


def test_every_criterion_said_twice_is_told_alone_and_left_out_beside_a_stricter_one() -> None:
    """Both columns of the table hold criteria of rules that are told together; none leaves out each other."""
    words = {f"{rule}.{one.id}": one.words for rule, it in RULES.items() for one in it.criteria}
    for rule, criteria in SAID_TWICE.items():
        for criterion, others in criteria.items():
            for other in others:
                stricter, _, by = other.partition(".")
                assert f"{rule}.{criterion}" not in SAID_TWICE.get(stricter, {}).get(by, ())
                pair = (met(rule, RIGHT, criterion), met(stricter, RIGHT, by))
                loose, strict = urgent_matters(pair)
                assert Matter(told=loose).because == (words[f"{rule}.{criterion}"],)
                assert Matter(told=loose, also=(strict,)).because == (words[other],)


def test_no_criterion_left_out_is_denied_by_the_one_that_says_more() -> None:
    """Words that stand for others never deny them: no criterion says "no", "not" or "without" before them."""
    words = {each.words for rule in RULES.values() for each in rule.criteria}
    for more in words:
        for less in words - {more}:
            before, found, _ = more.partition(less)
            if found:
                assert not {"no", "not", "without", "never"} & set(before.split()), (less, more)


def test_criteria_are_kept_in_the_words_of_their_rule() -> None:
    """Everything told as a reason is a criterion of one of the rules."""
    every = tuple(met(rule, RIGHT) for rule in RULES)
    known = {each.words for alarm in every for each in alarm.met}
    assert {words for each in matters_of(urgent_matters(every)) for words in each.because} <= known
