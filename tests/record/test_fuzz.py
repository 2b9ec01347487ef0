"""Whatever a file holds, reading it gives an examination or one InputError, and never anything else."""

import json
import time
from pathlib import Path
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabella.errors import InputError
from fabella.protocol import load_protocol
from fabella.record import Examination, read_examination, write_examination
from tests.record.mutations import mutated
from tests.strategies import TODAY, examinations

PROTOCOL = load_protocol()
SAMPLE = (Path(__file__).parents[2] / "examples" / "two_years_of_pain.json").read_bytes()

json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(st.characters()),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(st.characters()), inner, max_size=4),
)


def read(text: str | bytes) -> Examination | InputError:
    """Read a text; any error but an InputError fails the test."""
    try:
        return read_examination(text, protocol=PROTOCOL, today=TODAY)
    except InputError as error:
        refusal = error
    assert all(problem.place and problem.says and str(problem).isprintable() for problem in refusal.problems)
    return refusal


def test_a_truncated_file_is_refused_wherever_it_breaks_off() -> None:
    """A file cut at any byte is refused as a whole, apart from one that lacks its last line break only."""
    whole = read(SAMPLE)
    assert isinstance(whole, Examination)
    assert read(SAMPLE.rstrip()) == whole
    for length in range(len(SAMPLE.rstrip())):
        cut = read(SAMPLE[:length])
        assert isinstance(cut, InputError)
        assert "nothing was read" in str(cut)


def test_a_damaged_byte_never_does_more_than_refuse() -> None:
    """Any byte of a file replaced by another leaves an examination or a refusal."""
    dice = Random(1)
    for place in range(0, len(SAMPLE), 3):
        damaged = bytearray(SAMPLE)
        damaged[place] = dice.randrange(256)
        read(bytes(damaged))


@given(st.binary() | st.text(st.characters()))
def test_noise_is_refused(noise: bytes | str) -> None:
    """Random bytes and random characters are no examination."""
    assert isinstance(read(noise), InputError)


@given(json_values)
def test_json_of_any_shape_is_refused(value: object) -> None:
    """JSON that was never meant to be an examination is refused."""
    assert isinstance(read(json.dumps(value)), InputError)
    assert isinstance(read(json.dumps(value, ensure_ascii=False)), InputError)


@given(st.data())
def test_any_value_in_any_place_is_survived(data: st.DataObject) -> None:
    """Arbitrary JSON under every known key gives an examination or a refusal."""
    tree = {"format": "fabella.examination/1", "id": "a", "origin": "invented"}
    keys = ["source", "examined_on", "examiner", "patient", "context", "consent_given", "history"]
    keys += ["totals", "imaging"]
    tree |= data.draw(st.dictionaries(st.sampled_from(keys), json_values, max_size=4))
    finding = data.draw(
        st.dictionaries(
            st.sampled_from(["sign", "side", "state", "level", "value", "unit", "reason"]), json_values
        )
    )
    read(json.dumps(tree))
    read(json.dumps({**tree, "findings": [{"sign": "lachman", "side": "left", **finding}, finding]}))


@given(examinations(PROTOCOL, max_findings=6), st.randoms(use_true_random=False))
def test_slips_are_read_or_refused(examination: Examination, dice: Random) -> None:
    """A slip leaves an examination that can be written and read again, or a refusal."""
    tree = json.loads(write_examination(examination))
    for _ in range(10):
        result = read(json.dumps(mutated(tree, PROTOCOL, dice)))
        if isinstance(result, Examination):
            assert read(write_examination(result)) == result


@pytest.mark.parametrize("depth", [10, 100, 900, 5_000, 200_000])
def test_depth_does_no_harm(depth: int) -> None:
    """Lists within lists, shallow or bottomless, are refused."""
    text = '{"format": "fabella.examination/1", "id": "a", "origin": "invented", "findings": '
    assert isinstance(read(text + "[" * depth + "]" * depth + "}"), InputError)


def test_a_large_file_full_of_faults_is_refused_quickly() -> None:
    """Tens of thousands of faults are all listed, in seconds; only the first ones get a nearest name."""
    findings = [{"sign": f"lachmann_{number}", "side": "left", "state": "normal"} for number in range(50_000)]
    tree = {"format": "fabella.examination/1", "id": "a", "origin": "invented", "findings": findings}
    began = time.monotonic()
    refused = read(json.dumps(tree))
    assert time.monotonic() - began < 30
    assert isinstance(refused, InputError)
    assert len(refused.problems) == len(findings)
    assert "'lachman'" in refused.problems[0].remedy
    assert refused.problems[-1].remedy == ""
