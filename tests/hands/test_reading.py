"""The file of a confirmation: exact, strict, and as its schema says, judged by jsonschema."""

import json
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from fabella.anatomy import Side, load_lesions
from fabella.errors import InputError
from fabella.hands import ABSENT, FORMAT, PRESENT, Confirmation, Method, read_confirmation, write_confirmation
from fabella.hands.schema import confirmation_schema
from tests.strategies import TODAY, ids, lines, prose

LESIONS = load_lesions()
JUDGE = Draft202012Validator(confirmation_schema(LESIONS), format_checker=Draft202012Validator.FORMAT_CHECKER)

found = st.dictionaries(st.sampled_from(list(LESIONS)), st.just(""), min_size=1, max_size=8).flatmap(
    lambda chosen: st.fixed_dictionaries(
        {
            lesion: st.sampled_from([ABSENT, PRESENT, *(level.id for level in LESIONS[lesion].levels)])
            for lesion in chosen
        }
    )
)
confirmations = st.builds(
    Confirmation,
    examination=ids,
    side=st.sampled_from(Side),
    on=st.dates(date(1900, 1, 1), TODAY),
    method=st.sampled_from(Method),
    found=found,
    by=st.none() | lines,
    note=st.none() | prose,
)
WHOLE = {
    "format": FORMAT,
    "examination": "slip-on-ice",
    "side": "right",
    "on": "2025-06-01",
    "method": "mri",
    "found": {"acl_tear": "complete", "pcl_tear": ABSENT},
}


def read(tree: object) -> Confirmation:
    """Read a tree on the day of the tests."""
    return read_confirmation(json.dumps(tree), lesions=LESIONS, today=TODAY)


@given(confirmations)
def test_what_is_written_is_read_back_exactly_and_the_schema_takes_it(confirmation: Confirmation) -> None:
    """Reading what was written gives an equal confirmation; it is one line, and valid by the schema."""
    text = write_confirmation(confirmation)
    assert read_confirmation(text, lesions=LESIONS, today=TODAY) == confirmation
    assert text.index("\n") == len(text) - 1
    assert JUDGE.is_valid(json.loads(text))


def test_every_fault_is_told_at_once_with_its_place_and_remedy() -> None:
    """Missing, misspelt and impossible values are listed together; nothing is half read."""
    with pytest.raises(InputError) as refusal:
        read(
            {
                "format": "fabella.confirmation/2",
                "side": "rigt",
                "on": "2099-01-01",
                "method": "scan",
                "found": {"acl_ter": "complete", "pcl_tear": "grade_9"},
                "surgeon": "x",
            }
        )
    told = {problem.place: f"{problem.says}; {problem.remedy}" for problem in refusal.value.problems}
    assert set(told) == {
        *("surgeon", "examination", "format", "side", "on", "method", "found.acl_ter", "found.pcl_tear")
    }
    assert "did you mean 'right'?" in told["side"]
    assert "lies in the future" in told["on"]
    assert "did you mean 'acl_tear'?" in told["found.acl_ter"]
    assert "absent, present, partial, complete" in told["found.pcl_tear"]


@pytest.mark.parametrize("given", [{}, {"acl_tear": None}, [], "none", None])
def test_a_look_that_states_nothing_is_refused(given: object) -> None:
    """Nothing looked for is no confirmation, by the reader and by the schema."""
    with pytest.raises(InputError, match="found"):
        read({**WHOLE, "found": given})
    assert not JUDGE.is_valid({**WHOLE, "found": given})


@pytest.mark.parametrize("missing", ["format", "examination", "side", "on", "method", "found"])
def test_what_must_stand_there_is_asked_for(missing: str) -> None:
    """Each key without which nothing can be judged is named when it is missing."""
    tree = {key: value for key, value in WHOLE.items() if key != missing}
    with pytest.raises(InputError, match=f"{missing}: is missing"):
        read(tree)
    assert not JUDGE.is_valid(tree)


@given(st.text(max_size=60) | st.binary(max_size=60))
def test_no_text_ends_in_anything_but_a_message(text: str | bytes) -> None:
    """Whatever the text is, it is read or refused."""
    with pytest.raises(InputError):
        read_confirmation(text, lesions=LESIONS, today=TODAY)
