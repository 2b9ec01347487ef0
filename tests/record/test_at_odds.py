"""Findings that measure the same thing and disagree: told, never refused."""

from datetime import date

import pytest

from fabella.protocol import load_protocol
from fabella.record import Finding, State, at_odds, read_examination
from fabella.record.at_odds import Half, pairs
from tests.flags.build import LEFT, RIGHT, Found, exam, finding

PROTOCOL = load_protocol()
TODAY = date(2026, 11, 26)


def disagreeing(found: dict[str, Found]) -> list[tuple[str, str]]:
    """The signs that disagree on a right knee."""
    return [each.signs for each in at_odds([finding(sign, RIGHT, what) for sign, what in found.items()])]


def test_an_effusion_beside_a_dry_sweep_is_remarked() -> None:
    """A moderate effusion and a dry sweep disagree; a tense one may not move, and fluid that moves agrees."""
    pair = ("effusion", "effusion_sweep")
    assert disagreeing({"effusion": "moderate", "effusion_sweep": False}) == [pair]
    assert disagreeing({"effusion": "large", "effusion_sweep": False}) == []
    assert disagreeing({"effusion": "moderate", "effusion_sweep": "2+"}) == []
    assert disagreeing({"effusion": False, "effusion_sweep": "2+"}) == [pair]


def test_only_findings_of_one_knee_disagree() -> None:
    """What is wet on the right and dry on the left is a difference of the sides, not an error."""
    wet, dry = finding("effusion", RIGHT, "moderate"), finding("effusion_sweep", LEFT, False)
    assert at_odds([wet, dry]) == ()
    (both,) = at_odds([wet, dry, finding("effusion", LEFT, "small")])
    assert both.side is LEFT


def test_what_was_not_tested_disagrees_with_nothing() -> None:
    """A sweep that was not examined or could not be tested is no dry sweep."""
    wet = finding("effusion", RIGHT, "moderate")
    for state in (State.NOT_EXAMINED, State.UNTESTABLE):
        assert at_odds([wet, Finding(sign="effusion_sweep", side=RIGHT, state=state)]) == ()


def test_a_measurement_disagrees_beyond_its_limit_only() -> None:
    """A knee that comes straight lacks no 5 degrees; less than that is the error of measuring."""
    pair = ("passive_extension", "fixed_flexion")
    assert disagreeing({"passive_extension": 0.0, "fixed_flexion": 5.0}) == [pair]
    assert disagreeing({"passive_extension": 0.0, "fixed_flexion": 4.0}) == []
    assert disagreeing({"passive_extension": -10.0, "fixed_flexion": 10.0}) == []
    assert disagreeing({"passive_extension": -10.0, "fixed_flexion": 0.0}) == [pair]


def test_what_a_leg_does_in_one_test_it_can_do_in_the_other() -> None:
    """Who squats walks, who straightens the knee raises it, and what hyperextends is not blocked."""
    limp = ("unable_to_weight_bear", "deep_squat")
    assert disagreeing({"unable_to_weight_bear": True, "deep_squat": False}) == [limp]
    raised = ("straight_leg_raise", "active_knee_extension")
    assert disagreeing({"straight_leg_raise": "unable", "active_knee_extension": False}) == [raised]
    assert disagreeing({"straight_leg_raise": "lag", "active_knee_extension": False}) == []
    blocked = ("block_to_extension", "passive_extension")
    assert disagreeing({"block_to_extension": "rigid", "passive_extension": 5.0}) == [blocked]
    assert disagreeing({"block_to_extension": "rigid", "passive_extension": 0.0}) == []


HALVES = tuple(dict.fromkeys(half for pair in pairs() for half in (pair.one, pair.other)))


@pytest.mark.parametrize("half", HALVES)
def test_every_half_can_be_said(half: Half) -> None:
    """Signs and levels of the table are those of the protocol, of signs of a knee; none says nothing."""
    sign = PROTOCOL.sign(half.sign)
    assert not sign.is_person
    assert half.levels <= {each.id for each in sign.scale.levels[1:]}
    assert half.low > half.high or sign.scale.measure is not None
    assert half.normal or half.levels or half.low <= half.high


def test_no_half_holds_of_a_finding_of_the_other_kind() -> None:
    """A normal finding never counts as one of the abnormal levels, nor the other way round."""
    for half in HALVES:
        assert half.said_by(finding(half.sign, RIGHT, False)) is half.normal
        for level in {each.id for each in PROTOCOL.sign(half.sign).scale.levels[1:]} - half.levels:
            assert not half.said_by(finding(half.sign, RIGHT, level)), (half, level)


def test_a_file_that_disagrees_is_read() -> None:
    """The format refuses what cannot be; what only disagrees is for the examiner to settle."""
    text = """{"format": "fabella.examination/1", "id": "odd", "origin": "invented", "findings": [
      {"sign": "effusion", "side": "right", "state": "abnormal", "level": "moderate"},
      {"sign": "effusion_sweep", "side": "right", "state": "normal", "level": "zero"}]}"""
    read = read_examination(text, protocol=PROTOCOL, today=TODAY)
    assert [each.signs for each in at_odds(read.findings)] == [("effusion", "effusion_sweep")]
    assert at_odds(exam().findings) == ()
