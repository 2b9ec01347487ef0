"""The schema, judged by jsonschema, a program of others, agrees with the reader."""

import json
from collections import Counter
from datetime import timedelta
from random import Random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from fabella.errors import InputError
from fabella.protocol import load_protocol
from fabella.record import Examination, examination_schema, read_examination, write_examination
from fabella.record.schema import BEYOND_THE_SCHEMA
from tests.record.mutations import mutated
from tests.record.test_refusals import ONE_PROBLEM
from tests.strategies import TODAY, examinations

PROTOCOL = load_protocol()
SCHEMA = examination_schema(PROTOCOL)
JUDGE = Draft202012Validator(SCHEMA, format_checker=Draft202012Validator.FORMAT_CHECKER)

# How the reader words the rules that no schema can say, in the order of BEYOND_THE_SCHEMA.
WORDINGS = {
    "a key stands twice in one object": ["more than once"],
    "a text holds half of a surrogate pair": ["half"],
    "the examination lies in the future": ["lies in the future"],
    "a procedure lies after the examination": ["lies after the examination"],
    "the onset lies before birth": ["lies before birth"],
    "a total is stated twice for one side": ["is stated twice"],
    "an image was taken after the examination": ["lies after the examination"],
    "an image is stated twice for one side": ["is stated twice"],
    "a sign is stated twice for one side": ["is stated twice"],
    "two statements cannot both be true": ["contradicts findings[", "contradicts history."],
    "the file is larger than 5 MB, is not UTF-8 or has a byte order mark": ["nothing was read"],
}
SAYABLE_ONLY_BY_THE_READER = [word for words in WORDINGS.values() for word in words]


def refusal(text: str) -> list[str]:
    """What the reader says against a text; nothing when it takes it."""
    try:
        read_examination(text, protocol=PROTOCOL, today=TODAY)
    except InputError as error:
        return [problem.says for problem in error.problems]
    return []


def agree(tree: dict[str, Any]) -> str:
    """Say how reader and schema judged, and fail where they may not differ."""
    text = json.dumps(tree)
    says = refusal(text)
    accepted = JUDGE.is_valid(json.loads(text))
    if not accepted:
        assert says, f"only the schema refuses {text}: {next(JUDGE.iter_errors(tree)).message}"
        return "both refuse"
    beyond = [each for each in says if any(words in each for words in SAYABLE_ONLY_BY_THE_READER)]
    assert says == beyond, f"only the reader refuses {text}: {says}"
    return "only the reader refuses" if says else "both accept"


def test_the_schema_is_a_schema() -> None:
    """The published document obeys draft 2020-12 and is plain JSON."""
    Draft202012Validator.check_schema(SCHEMA)
    assert json.loads(json.dumps(SCHEMA, allow_nan=False)) == SCHEMA


def test_the_rules_beyond_the_schema_are_listed() -> None:
    """Every rule that only the reader knows is in the published list."""
    assert tuple(WORDINGS) == BEYOND_THE_SCHEMA


def test_the_schema_knows_every_sign_and_question() -> None:
    """The schema names every sign once, as a finding or as an answer; courtesies are neither."""
    signs = set(SCHEMA["$defs"]["finding"]["properties"]["sign"]["enum"])
    answers = set(SCHEMA["properties"]["history"]["properties"])
    assert signs & answers == set()
    assert signs | answers == {sign.id for sign in PROTOCOL.signs if sign.kind != "courtesy"}


def test_every_sign_has_exactly_one_rule() -> None:
    """Levels, unit and range of each sign are said once."""
    rules = SCHEMA["$defs"]["finding"]["allOf"]
    ruled = Counter(
        name for rule in rules for name in rule["if"]["properties"].get("sign", {}).get("enum", ())
    )
    assert set(ruled.values()) == {1}
    assert set(ruled) == set(SCHEMA["$defs"]["finding"]["properties"]["sign"]["enum"])


@settings(max_examples=300)
@given(examinations(PROTOCOL, max_findings=6))
def test_whatever_is_valid_both_accept(examination: Examination) -> None:
    """Every document that the writer makes is accepted by the schema."""
    assert agree(json.loads(write_examination(examination))) == "both accept"


@settings(max_examples=150)
@given(examinations(PROTOCOL, max_findings=4), st.randoms(use_true_random=False))
def test_whatever_the_schema_refuses_the_reader_refuses(examination: Examination, dice: Random) -> None:
    """Over thousands of slips, reader and schema differ in the listed rules only."""
    tree = json.loads(write_examination(examination))
    for _ in range(20):
        agree(mutated(tree, PROTOCOL, dice))


def test_the_slips_are_of_every_outcome() -> None:
    """The comparison is not empty: some slips are refused by both, some by the reader only, some by none."""
    dice = Random(20250630)
    tree = json.loads(_example())
    outcomes = Counter(agree(mutated(tree, PROTOCOL, dice)) for _ in range(400))
    assert outcomes["both refuse"] > 100
    assert outcomes["only the reader refuses"] > 5
    assert outcomes["both accept"] > 10


@pytest.mark.parametrize("keys", [row[0] for row in ONE_PROBLEM])
def test_each_single_fault_is_judged_alike(keys: dict[str, Any]) -> None:
    """Every fault of the table of refusals is refused by both, or is one of the listed rules."""
    tree = {"format": "fabella.examination/1", "id": "a", "origin": "invented", **keys}
    if any(words in json.dumps(tree) for words in ("NaN", "Infinity", "\\ud800")):
        return  # no JSON, or no Unicode: nothing that a schema is ever shown
    assert agree(tree) != "both accept"


def test_what_the_future_is_depends_on_today() -> None:
    """The same text is refused before its day and accepted on it, whatever the schema says."""
    tomorrow = TODAY + timedelta(days=1)
    tree = {"format": "fabella.examination/1", "id": "a", "origin": "invented", "examined_on": str(tomorrow)}
    assert agree(tree) == "only the reader refuses"
    assert read_examination(json.dumps(tree), protocol=PROTOCOL, today=tomorrow).examined_on == tomorrow


def _example() -> str:
    return json.dumps(
        {
            "format": "fabella.examination/1",
            "id": "a",
            "origin": "invented",
            "patient": {"age_years": 30},
            "history": {"fever": False, "swelling_onset_hours": 2},
            "findings": [
                {
                    "sign": "lachman",
                    "side": "right",
                    "state": "abnormal",
                    "level": "2+",
                    "value": 9,
                    "unit": "mm",
                },
                {"sign": "lachman", "side": "left", "state": "normal"},
                {"sign": "mcmurray", "side": "right", "state": "untestable", "reason": "pain"},
                {"sign": "passive_flexion", "side": "right", "value": 95, "unit": "deg"},
                {"sign": "fixed_flexion", "side": "right", "value": 5, "unit": "deg"},
                {"sign": "tophi", "state": "normal"},
            ],
        }
    )
