import json
import pickle
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabella.anatomy import Side
from fabella.protocol import load_protocol
from fabella.record import (
    Examination,
    Finding,
    History,
    Origin,
    Patient,
    State,
    check_examination,
    read_examination,
    write_examination,
)
from tests.strategies import TODAY, examinations

PROTOCOL = load_protocol()
EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.json"))


def read(text: str | bytes) -> Examination:
    """Read a text on the day of the tests."""
    return read_examination(text, protocol=PROTOCOL, today=TODAY)


@given(examinations(PROTOCOL))
def test_what_is_written_is_read_back_exactly(examination: Examination) -> None:
    """Reading what was written gives an equal examination, and writing that gives the same text."""
    text = write_examination(examination)
    assert read(text) == examination
    assert read(text.encode()) == examination
    assert write_examination(read(text)) == text


@pytest.mark.parametrize(
    ("written", "complaint", "again"),
    [
        ({}, None, None),
        ({"complaint": None}, None, None),
        ({"complaint": []}, None, None),
        ({"complaint": "none"}, (), "none"),
        ({"complaint": ["left"]}, (Side.LEFT,), ["left"]),
    ],
)
def test_that_nobody_complains_is_not_that_nothing_was_said(
    written: dict[str, object], complaint: tuple[Side, ...] | None, again: object
) -> None:
    """An empty list, as files have had it, is unknown and left out; "none" says that neither knee is."""
    file = {"format": "fabella.examination/1", "id": "one", "origin": "invented", "context": written}
    examination = read(json.dumps(file))
    assert examination.context.complaint == complaint
    assert examination.context.without_complaint == (again == "none")
    assert json.loads(write_examination(examination))["context"].get("complaint") == again


@given(examinations(PROTOCOL))
def test_one_line_holds_the_same_examination(examination: Examination) -> None:
    """The form for streams has one line break, at its end, and loses nothing."""
    line = write_examination(examination, one_line=True)
    assert line.index("\n") == len(line) - 1
    assert read(line) == examination


@given(examinations(PROTOCOL), st.randoms(use_true_random=False), st.sampled_from([None, 1, "\t\r\n "]))
def test_key_order_and_whitespace_are_free(
    examination: Examination, dice: Random, indent: str | int | None
) -> None:
    """A text with its keys in any order and any whitespace between them is the same examination."""

    def shuffled(tree: object) -> object:
        if isinstance(tree, list):
            return [shuffled(each) for each in tree]
        if not isinstance(tree, dict):
            return tree
        keys = list(tree)
        dice.shuffle(keys)
        return {key: shuffled(tree[key]) for key in keys}

    text = json.dumps(shuffled(json.loads(write_examination(examination))), indent=indent)
    assert read(text) == examination


@given(examinations(PROTOCOL))
def test_null_is_the_same_as_leaving_out(examination: Examination) -> None:
    """A key that is null, at any depth, means what its absence means: unknown."""
    tree = json.loads(write_examination(examination))
    tree.setdefault("source", None)
    tree["history"] = {**dict.fromkeys(sign.id for sign in PROTOCOL.history()), **tree["history"]}
    for finding in tree["findings"]:
        for key in ("side", "state", "level", "value", "unit", "method", "reason", "note"):
            finding.setdefault(key, None)
    assert read(json.dumps(tree)) == examination


@given(examinations(PROTOCOL))
def test_equal_examinations_give_equal_texts(examination: Examination) -> None:
    """The order in which answers were given leaves no trace in the text."""
    backwards = dict(reversed(list(examination.history.items())))
    assert write_examination(replace(examination, history=backwards)) == write_examination(examination)


@given(examinations(PROTOCOL))
def test_an_examination_survives_pickling_and_can_be_a_key(examination: Examination) -> None:
    """An examination arrives whole in another process, and equal ones have equal hashes."""
    copy = pickle.loads(pickle.dumps(examination))  # noqa: S301 - our own bytes
    assert copy == examination
    assert hash(copy) == hash(examination)


@given(examinations(PROTOCOL))
def test_whatever_the_reader_returns_passes_the_check(examination: Examination) -> None:
    """A program can check an examination that it made, without writing a file."""
    check_examination(examination, protocol=PROTOCOL, today=TODAY)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_the_examples_are_written_as_the_writer_writes(path: Path) -> None:
    """Every example can be read, and is in the one form that the writer gives it."""
    text = path.read_text("utf-8")
    assert write_examination(read(text)) == text


def test_the_examples_are_invented_or_published_and_of_both_knees() -> None:
    """Two examples are invented, two are published with their source, and all tell of both knees."""
    read_examples = [read(path.read_bytes()) for path in EXAMPLES]
    assert sorted(each.origin for each in read_examples) == ["invented"] * 2 + ["published"] * 2
    assert all(each.source for each in read_examples if each.origin is Origin.PUBLISHED)
    assert all(each.sides == (Side.RIGHT, Side.LEFT) for each in read_examples)


def test_the_published_example_says_what_the_case_said() -> None:
    """The retold case agrees with the printed one.

    Source: clinical case at a sports-medicine meeting, bilateral knee pain in a 15-year-old (authors not
    shown): effusion grade 1, Lachman 1+ with firm end point on the right and negative on the left, McMurray
    with medial pain, 0 to 140 degrees, prominent tubercles without tenderness.
    """
    case = read((EXAMPLES[0].parent / "two_years_of_pain.json").read_bytes())
    right = {each.sign: each for each in case.findings if each.side is Side.RIGHT}
    assert (case.patient.age_years, case.patient.sex, case.context.onset_days) == (15, "male", 730)
    assert (case.history_item("giving_way"), case.history_item("locking")) == (False, False)
    assert case.history_item("fever") is None
    assert (right["lachman"].level, right["lachman_end_point"].level) == ("1+", "firm")
    assert case.state("lachman", Side.LEFT) is State.NORMAL
    assert case.state("mcmurray_medial", Side.RIGHT) is State.ABNORMAL
    assert case.state("mcmurray_medial", Side.LEFT) is State.NOT_EXAMINED
    assert (right["passive_extension"].value, right["passive_flexion"].value) == (0, 140)
    assert {case.state("tubercle_prominent", side) for side in Side} == {State.ABNORMAL}
    assert {case.state("tenderness_tibial_tubercle", side) for side in Side} == {State.NORMAL}


LACHMAN = Finding(sign="lachman", side=Side.RIGHT, state=State.ABNORMAL, level="1+")


def test_a_finding_replaces_its_predecessor_in_place() -> None:
    """A second finding of a sign and side stands where the first stood; a new one is added last."""
    sag = Finding(sign="posterior_sag", side=Side.RIGHT, state=State.NORMAL)
    worse = replace(LACHMAN, level="3+")
    first = Examination(id="a", origin=Origin.INVENTED).with_finding(LACHMAN).with_finding(sag)
    assert first.findings == (LACHMAN, sag)
    assert first.with_finding(worse).findings == (worse, sag)
    assert first.with_finding(replace(worse, side=Side.LEFT)).findings[:2] == (LACHMAN, sag)


def test_what_is_taken_out_is_not_examined() -> None:
    """Without its finding a sign is not examined, which is not normal; the other side stays as it was."""
    both = Examination(id="a", origin=Origin.INVENTED, findings=(LACHMAN, replace(LACHMAN, side=Side.LEFT)))
    left = both.without("lachman", Side.RIGHT)
    assert left.state("lachman", Side.RIGHT) is State.NOT_EXAMINED
    assert left.finding("lachman", Side.RIGHT) is None
    assert left.state("lachman", Side.LEFT) is State.ABNORMAL
    assert left.sides == (Side.LEFT,)
    assert both.without("lachman").findings == both.findings


def test_a_reading_alone_has_no_state() -> None:
    """A value that was read and not judged is neither normal nor abnormal nor not examined."""
    flexion = Finding(sign="passive_flexion", side=Side.LEFT, value=140, unit="deg")
    examination = Examination(id="a", origin=Origin.INVENTED, findings=(flexion,))
    assert examination.state("passive_flexion", Side.LEFT) is None
    assert read(write_examination(examination)) == examination


def test_a_sign_left_out_in_words_is_still_not_examined() -> None:
    """Saying that a sign was not examined does not make its knee an examined one."""
    skipped = Finding(sign="lachman", side=Side.LEFT, state=State.NOT_EXAMINED, note="forgotten")
    examination = Examination(id="a", origin=Origin.INVENTED, findings=(skipped,))
    assert examination.sides == ()
    assert examination.state("lachman", Side.LEFT) is State.NOT_EXAMINED


def test_nothing_can_be_changed_in_an_examination() -> None:
    """The history and the findings are frozen copies of what they were made from."""
    answers = {"fever": True}
    examination = Examination(id="a", origin=Origin.INVENTED, history=answers)
    answers["fever"] = False
    assert examination.history_item("fever") is True
    with pytest.raises(TypeError):
        examination.history["fever"] = False  # type: ignore[index]
    assert repr(examination.history) == "History({'fever': True})"
    assert examination.history == {"fever": True}
    assert len(History()) == 0


def test_a_whole_number_is_written_without_decimals() -> None:
    """15.0 years are written as 15, and minus nothing as 0."""
    patient = Patient(age_years=15.0)
    level = Finding(sign="leg_length_difference", side=Side.LEFT, value=-0.0, unit="cm")
    text = write_examination(Examination(id="a", origin=Origin.INVENTED, patient=patient, findings=(level,)))
    assert '"age_years": 15\n' in text
    assert '"value": 0,' in text
