import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from fabella.errors import InputError
from fabella.stats import icc, kappa, mean_squares

TABLES = arrays(np.int64, (3, 3), elements=st.integers(1, 40))
RATINGS = arrays(np.float64, (6, 3), elements=st.integers(0, 20).map(float)).filter(
    lambda x: x.mean(axis=1).std() > 0.1
)

SMALL = arrays(
    np.float64, st.tuples(st.integers(2, 4), st.integers(2, 3)), elements=st.integers(0, 3).map(float)
)


@given(TABLES)
def test_quadratic_kappa_does_not_care_who_comes_first(table: np.ndarray) -> None:
    """Swapping the two examiners, or turning the scale round, leaves every kappa as it was."""
    for weights in ("none", "linear", "quadratic"):
        first = kappa(table, weights=weights)
        for other in (table.T, table[::-1, ::-1]):
            again = kappa(other, weights=weights)
            assert (again.kappa.estimate, again.se) == pytest.approx(
                (first.kappa.estimate, first.se), abs=1e-9
            )


def test_perfect_and_chance_agreement_are_one_and_zero() -> None:
    """Kappa is 1 when all agree, and 0 when the table is the product of its margins."""
    perfect = kappa([[20, 0], [0, 11]])
    assert (perfect.kappa.estimate, perfect.kappa.high, perfect.se) == pytest.approx((1, 1, 0))
    assert kappa([[12, 18], [8, 12]]).kappa.estimate == pytest.approx(0)


def test_a_table_of_two_grades_has_one_kappa_whatever_the_weights() -> None:
    """With two grades there is one kind of disagreement, so weights change nothing."""
    table = [[30, 7], [4, 19]]
    values = {round(kappa(table, weights=w).kappa.estimate, 12) for w in ("none", "linear", "quadratic")}
    assert len(values) == 1


@pytest.mark.parametrize(
    ("table", "place"),
    [
        ([[1, 2, 3], [4, 5, 6]], "table"),
        ([[5]], "table"),
        ([[1, -2], [3, 4]], "table"),
        ([[0, 0], [0, 0]], "table"),
        ([[9, 0], [0, 0]], "table"),
    ],
)
def test_tables_without_a_kappa_are_refused(table: list[list[int]], place: str) -> None:
    """A table that is not square, too small, negative, empty or of one grade only is refused."""
    with pytest.raises(InputError) as refusal:
        kappa(table)
    assert refusal.value.problems[0].place == place


def test_a_misspelt_weight_gets_the_nearest_name() -> None:
    """A wrong name of a weight is answered with the nearest right one; a wrong shape with the right one."""
    with pytest.raises(InputError, match="did you mean 'quadratic'"):
        kappa([[1, 2], [3, 4]], weights="quadratik")  # type: ignore[arg-type]
    with pytest.raises(InputError, match="use 2 rows and columns"):
        kappa([[1, 2], [3, 4]], weights=[[0, 1, 2], [1, 0, 1], [2, 1, 0]])


@given(RATINGS)
def test_the_forms_stand_in_their_known_order(ratings: np.ndarray) -> None:
    """Bias of the judges counts fully in form 1, is estimated in 2 and set aside in 3, so 1 <= 2 <= 3.

    Source: McGraw and Wong 1996 Psychol Methods 1:30-46 (from memory); true when the residual does not exceed
    the within-target variance, that is when the judges differ at least as much as chance makes them.
    """
    found = mean_squares(ratings)
    if found.judges >= found.residual and found.targets >= found.within:
        one, two, three = (icc(ratings, form=form).estimate for form in ("1,1", "2,1", "3,1"))
        assert one <= two + 1e-9
        assert two <= three + 1e-9


@given(RATINGS)
def test_a_judge_who_adds_a_constant_changes_only_what_counts_bias(ratings: np.ndarray) -> None:
    """Adding 5 to all marks of one judge leaves form 3 as it was."""
    shifted = ratings + np.array([5.0, 0.0, 0.0])
    assert icc(shifted, form="3,1").estimate == pytest.approx(icc(ratings, form="3,1").estimate, abs=1e-9)


@given(RATINGS, st.sampled_from(["1,1", "2,1", "3,1"]))
def test_limits_enclose_the_estimate(ratings: np.ndarray, form: str) -> None:
    """Every form's interval holds its estimate and is finite, also when the judges agree completely."""
    found = icc(ratings, form=form)  # type: ignore[arg-type]
    assert found.low <= found.estimate + 1e-9
    assert found.estimate <= found.high + 1e-9
    same = icc(np.repeat(ratings[:, :1], 3, axis=1) + np.arange(6.0)[:, None] * 50, form=form)  # type: ignore[arg-type]
    assert (same.low, same.estimate, same.high) == pytest.approx((1, 1, 1))


@given(SMALL, st.sampled_from(["1,k", "2,k", "3,k"]))
def test_the_mean_of_all_judges_is_as_reliable_as_one_of_them_makes_it(x: np.ndarray, form: str) -> None:
    """Up to 1, rising with the reliability of one judge, without bound below: no limit comes out above 1."""
    try:
        found = icc(x, form=form)  # type: ignore[arg-type]
    except InputError:
        assume(False)
    one = icc(x, form=f"{form[0]},1")  # type: ignore[arg-type]
    for single, mean in ((one.low, found.low), (one.estimate, found.estimate), (one.high, found.high)):
        assert mean <= 1 + 1e-9
        if single > 1e-6 - 1 / (x.shape[1] - 1):
            assert mean / (x.shape[1] - (x.shape[1] - 1) * mean) == pytest.approx(single, abs=1e-6)
        elif single < -1e-6 - 1 / (x.shape[1] - 1):
            assert mean == float("-inf")


@pytest.mark.parametrize("ratings", [[[1, 2, 3]], [[1], [2]], [[1, 2], [3, float("nan")]], [[1, 3], [2, 2]]])
def test_ratings_without_a_reliability_are_refused(ratings: list[list[float]]) -> None:
    """One target, one judge, a gap, or targets that do not differ cannot give a reliability."""
    with pytest.raises(InputError, match="ratings"):
        icc(ratings, form="2,1")


def test_an_unknown_form_gets_the_nearest_name() -> None:
    """A wrong form is answered with a right one."""
    with pytest.raises(InputError, match=r"form: '2\.1' is not a form of ICC; did you mean '2,1'"):
        icc([[1, 2], [3, 5]], form="2.1")  # type: ignore[arg-type]
