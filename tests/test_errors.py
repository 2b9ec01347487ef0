import pickle

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabella.errors import EvidenceError, FabellaError, InputError, Problem, Problems, UsageError, suggestion

FLEXION = Problem(
    place="right.flexion_deg", value="1400", says="is above the limit of 160", remedy="use degrees"
)
SIDE = Problem(place="visit.date", value="", says="is missing", remedy="")


def test_a_problem_names_place_value_fault_and_remedy() -> None:
    """A problem reads as one line: where, what stands there, what is wrong, what would be right."""
    assert str(FLEXION) == "right.flexion_deg: '1400' is above the limit of 160; use degrees"


def test_a_problem_leaves_out_what_is_not_known() -> None:
    """A missing value and an absent remedy leave no punctuation behind."""
    assert str(SIDE) == "visit.date: is missing"


def test_an_input_error_lists_every_problem() -> None:
    """One message holds every problem, one a line, in the order given."""
    assert str(InputError([FLEXION, SIDE])) == f"{FLEXION}\n{SIDE}"


def test_an_input_error_without_problems_is_refused() -> None:
    """Nobody can raise an input error that says nothing."""
    with pytest.raises(ValueError, match="at least one problem"):
        InputError([])


def test_an_input_error_survives_pickling() -> None:
    """An input error raised in a worker process arrives whole."""
    copy = pickle.loads(pickle.dumps(InputError([FLEXION, SIDE])))  # noqa: S301 - our own bytes
    assert copy.problems == (FLEXION, SIDE)


def test_problems_are_raised_together_in_the_order_in_which_they_were_met() -> None:
    """A reader adds what it meets, and at its end raises all of it; with nothing met it goes on."""
    met = Problems()
    met.raise_any()
    met.add("right.flexion_deg", "1400", "is above the limit of 160", "use degrees")
    met += [SIDE]
    with pytest.raises(InputError) as raised:
        met.raise_any()
    assert raised.value.problems == (FLEXION, SIDE)


@pytest.mark.parametrize("kind", [InputError, EvidenceError, UsageError])
def test_every_refusal_is_a_fabella_error(kind: type[Exception]) -> None:
    """One except clause at the door catches every refusal."""
    assert issubclass(kind, FabellaError)


@pytest.mark.parametrize(
    ("name", "allowed", "expected"),
    [
        ("lachmann", ("lachman", "pivot_shift"), "did you mean 'lachman'?"),
        ("LACHMAN", ("lachman", "pivot_shift"), "did you mean 'lachman'?"),
        ("xyz", ("left", "right"), "allowed: left, right"),
        ("xyz", (), ""),
        ("xyz", tuple("abcdefghijklmno"), "allowed: a, b, c, d, e, f, g, h, i, j, k, l and 3 more"),
    ],
)
def test_a_wrong_name_gets_a_helpful_answer(name: str, allowed: tuple[str, ...], expected: str) -> None:
    """The nearest allowed name is offered whatever its case; otherwise the allowed names are listed."""
    assert suggestion(name, allowed) == expected


@given(st.lists(st.text(min_size=1), min_size=1))
def test_an_allowed_name_suggests_one_that_differs_at_most_in_case(allowed: list[str]) -> None:
    """Asking for an allowed name leads back to it, or to its twin in another case."""
    quoted = suggestion(allowed[0], allowed).removeprefix("did you mean '").removesuffix("'?")
    assert quoted.casefold() == allowed[0].casefold()
