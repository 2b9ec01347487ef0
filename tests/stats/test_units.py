import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from fabella.errors import InputError
from fabella.stats import krippendorff_alpha
from fabella.stats.units import Scale

_ = np.nan
# Krippendorff 2011 Computing Krippendorff's alpha-reliability: 4 observers, 12 units (from memory).
KRIPPENDORFF_2011 = [
    [1, 2, 3, 3, 2, 1, 4, 1, 2, _, _, _],
    [1, 2, 3, 3, 2, 2, 4, 1, 2, 5, _, 3],
    [_, 3, 3, 3, 2, 3, 4, 2, 2, 5, 1, _],
    [1, 2, 3, 3, 2, 4, 4, 1, 2, 5, 1, _],
]


@pytest.mark.parametrize(
    ("scale", "printed", "computed"),
    [("nominal", 0.743, 0.7434211), ("ordinal", 0.815, 0.8153875), ("interval", 0.849, 0.8491071)],
)
def test_krippendorff_2011(scale: Scale, printed: float, computed: float) -> None:
    """Alpha is as printed to three decimals and as Python package krippendorff 0.9.0 gives to seven."""
    found = krippendorff_alpha(KRIPPENDORFF_2011, scale=scale)
    assert round(found, 3) == printed
    assert found == pytest.approx(computed, abs=5e-8)


@given(
    arrays(np.int64, (3, 8), elements=st.integers(1, 4)), st.sampled_from(["nominal", "ordinal", "interval"])
)
def test_it_is_one_less_disagreement_within_over_between(ratings: np.ndarray, scale: Scale) -> None:
    """Counting every pair of ratings by hand gives the same alpha, whatever the order of raters and units."""
    x = ratings.astype(float)
    flat = x.ravel()

    def apart(a: float, b: float) -> float:
        if scale == "nominal":
            return float(a != b)
        if scale == "interval":
            return (a - b) ** 2
        low, high = min(a, b), max(a, b)
        between = ((flat >= low) & (flat <= high)).sum() - ((flat == low).sum() + (flat == high).sum()) / 2
        return float(between**2) if a != b else 0.0

    within = np.mean(
        [apart(a, b) for unit in x.T for i, a in enumerate(unit) for j, b in enumerate(unit) if i != j]
    )
    every = np.mean([apart(a, b) for i, a in enumerate(flat) for j, b in enumerate(flat) if i != j])
    found = krippendorff_alpha(x, scale=scale)
    if every > 0:
        assert found == pytest.approx(1 - within / every, abs=1e-9)
        assert krippendorff_alpha(x[::-1, ::-1], scale=scale) == pytest.approx(found, abs=1e-9)
    else:
        assert np.isnan(found)


def test_ratings_without_a_pair_are_refused() -> None:
    """No unit with two ratings, an unknown scale and a value outside the scale are refused."""
    with pytest.raises(InputError, match="at least one unit needs two ratings"):
        krippendorff_alpha([[1, _], [_, 2]], scale="nominal")
    with pytest.raises(InputError, match="did you mean 'ordinal'"):
        krippendorff_alpha([[1], [2]], scale="ordinl")  # type: ignore[arg-type]
    with pytest.raises(InputError, match="outside the scale"):
        krippendorff_alpha([[1], [7]], scale="ordinal", values=(1, 2, 3))


def test_ratio_distances_are_relative() -> None:
    """On a ratio scale 1 and 2 are as far apart as 10 and 20."""
    near = krippendorff_alpha([[1, 5], [2, 5]], scale="ratio")
    assert krippendorff_alpha([[10, 50], [20, 50]], scale="ratio") == pytest.approx(near)
