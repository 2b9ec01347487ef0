import pytest

from fabella.errors import InputError
from fabella.evidence import load_edition
from fabella.grade import levels_of
from fabella.grade.tables import tables_used
from fabella.grade.thresholds import Start, load_thresholds, read_thresholds
from fabella.protocol import load_protocol

THRESHOLDS, PROTOCOL, EDITION = load_thresholds(), load_protocol(), load_edition()
SCALED = [reading for reading in THRESHOLDS.readings.values() if reading.scale and reading.side]


def test_every_measure_of_the_protocol_can_be_read() -> None:
    """Each sign with a unit has a rule, and each rule belongs to a sign with a unit."""
    assert {sign.id for sign in PROTOCOL.signs if sign.has_measure} == set(THRESHOLDS.readings)


def test_levels_and_starts_fit() -> None:
    """Every rule has one start fewer than its sign has levels, and speaks for signs with as many levels."""
    for reading in THRESHOLDS.readings.values():
        levels = levels_of(PROTOCOL.sign(reading.sign))
        for rule in (reading.side, reading.alone):
            assert rule is None or len(rule.starts) == len(levels) - 1, reading.sign
        for sign in reading.stands_for.values():
            assert len(levels_of(PROTOCOL.sign(sign))) == len(levels), reading.sign
    assert all(sign in PROTOCOL for sign in THRESHOLDS.alike)


@pytest.mark.parametrize("reading", SCALED, ids=lambda reading: reading.sign)
def test_starts_are_printed_lower_bounds(reading: object) -> None:
    """Where a published scale is named, every start is the lower bound of a grade, or a named cut-off."""
    # IKDC 2000 knee examination form and Slichter 2018 (dial test), as transcribed in the evidence.
    assert hasattr(reading, "scale")
    assert hasattr(reading, "side")
    bands = [*EDITION.bands(reading.scale), *EDITION.bands("dial_positive_cutoff")]
    printed = {Start(at=band.lower, strict=band.lower_strict) for band in bands if band.lower is not None}
    assert set(reading.side.starts) <= printed


def test_tables_named_exist() -> None:
    """Every table named in the rules is in the edition, but for a norm of cadence, which was not found."""
    for reading in THRESHOLDS.readings.values():
        assert not reading.scale or EDITION.bands(reading.scale), reading.sign
        assert all(EDITION.measurement_error_of(name) for name in reading.errors), reading.sign
        norms = (reading.side.norms if reading.side else ()) + (reading.norm.measures if reading.norm else ())
        assert {name for name in norms if not EDITION.norms_of(name)} <= {"cadence"}, reading.sign


def test_every_rule_says_what_it_rests_on() -> None:
    """Each source begins with published, derived or judgement."""
    for reading in THRESHOLDS.readings.values():
        texts = [rule.source for rule in (reading.side, reading.alone, reading.sem) if rule is not None]
        if reading.norm is not None and reading.norm.starts_sd:
            texts.append(reading.norm.source)
        if reading.side is not None and reading.side.healthy is not None:
            texts.append(reading.side.healthy_source)
        for text in texts:
            assert text.startswith(("published: ", "derived: ", "judgement: ")), (reading.sign, text)


def test_every_defect_of_a_rule_is_listed() -> None:
    """An unknown key, falling starts, levels that do not fit, and a missing error come in one message."""
    text = """
    [methods]
    [alike]
    signs = []
    [[reading]]
    signs = ["lachman"]
    levels = ["no", "yes"]
    worse = "higher"
    scael = "x"
    [reading.side]
    starts = [">=6", ">=3"]
    source = "judgement: made up"
    """
    with pytest.raises(InputError) as caught:
        read_thresholds(text)
    said = [problem.says for problem in caught.value.problems]
    assert said == ["is no key of a reading", "starts must rise", "starts and levels differ", "has no error"]


def test_a_start_that_runs_the_wrong_way_is_refused() -> None:
    """A lower bound cannot be the start of a level where lower is worse."""
    text = """
    [methods]
    [alike]
    signs = []
    [[reading]]
    signs = ["passive_flexion"]
    worse = "lower"
    [reading.alone]
    starts = [">3"]
    source = "judgement: made up"
    """
    with pytest.raises(InputError, match="runs the wrong way"):
        read_thresholds(text)


def test_every_norm_says_what_its_bounds_rest_on() -> None:
    """A norm without bounds of its own is used by its limits, which is judgement and said to be so."""
    rests = {
        sign: dict(tables_used(sign).bounds)["norm for age and sex"]
        for sign, reading in THRESHOLDS.readings.items()
        if reading.norm
    }
    assert all(each.startswith(("published: ", "derived: ", "judgement: ")) for each in rests.values())
    assert rests["passive_flexion"] == "judgement: beyond the limits of healthy people"
