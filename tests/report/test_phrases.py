from fabella.flags import load_rules
from fabella.protocol import load_protocol
from fabella.report.marks import sites
from fabella.report.phrases import load_phrases
from fabella.report.summary import plain_alarm

PROTOCOL = load_protocol()
OF_A_KNEE = [sign.id for sign in PROTOCOL.signs if not sign.is_person and not sign.is_history]


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
