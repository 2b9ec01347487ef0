"""The pen: curves run through their points as a reference library's do."""

import math

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import CubicHermiteSpline

from fabella.figure.pen import chain, curve, hatch, ink, sample
from tests.figure.reading import path_points, segments

_EVEN = [(0.0, 0.0), (100.0, 40.0), (200.0, -30.0), (310.0, 60.0), (400.0, 10.0)]


def test_a_curve_is_that_of_the_reference_library() -> None:
    """Evenly spaced knots give the cubic Hermite spline of SciPy with the tangents of Catmull and Rom."""
    points = np.array(_EVEN)
    padded = np.vstack([points[:1], points, points[-1:]])
    spline = CubicHermiteSpline(range(len(points)), points, (padded[2:] - padded[:-2]) / 2)
    at = np.linspace(0, len(points) - 1, 33)
    assert np.allclose(sample(_EVEN), spline(at), atol=1e-9)
    for index, (p0, p1, p2, p3) in enumerate(segments(curve(_EVEN))):
        for t in (0.25, 0.5, 0.75):
            u = 1 - t
            weights = (u**3, 3 * u * u * t, 3 * u * t * t, t**3)
            drawn = sum(w * np.array(p) for w, p in zip(weights, (p0, p1, p2, p3), strict=True))
            assert np.allclose(drawn, spline(index + t), atol=1.5)  # whole numbers, so a unit either way


@given(st.lists(st.tuples(st.integers(0, 3000), st.integers(0, 3000)), min_size=3, max_size=12, unique=True))
def test_a_curve_passes_its_points(points: list[tuple[int, int]]) -> None:
    """Each knot is met within half a unit, however unevenly they lie, and no error adds up."""
    (run,) = path_points(curve(points))
    assert len(run) == len(points)
    assert all(math.dist(a, b) <= 0.75 for a, b in zip(run, points, strict=True))
    (straight,) = path_points(chain(points))
    assert all(math.dist(a, b) <= 0.75 for a, b in zip(straight, points, strict=True))


def test_a_near_knot_is_not_overshot() -> None:
    """Between two knots that lie close together the curve stays within their distance of them."""
    points = [(0.0, 0.0), (1000.0, 0.0), (1010.0, 30.0), (1010.0, 900.0)]
    p0, p1, p2, p3 = list(segments(curve(points)))[1]
    assert all(math.dist(each, p0) < 40 for each in (p1, p2, p3))


def test_a_stroke_swells_and_thins_out() -> None:
    """A stroke of the pen is widest in its middle, as wide as asked, and thin at its ends."""
    (outline,) = path_points(ink([(0, 0), (500, 0), (1000, 0), (1500, 0), (2000, 0)], weight=60))
    widths = [2 * y for _, y in outline[:5]]
    assert max(widths) == widths[2] == 60
    assert widths[0] < 20 > widths[-1]


def test_hatching_stays_on_its_side() -> None:
    """Lines leave the edge to its right as seen on the page, or to the left with a negative depth."""
    right = path_points(hatch([(0, 0), (0, 1000)], depth=50, spacing=80))
    left = path_points(hatch([(0, 0), (0, 1000)], depth=-50, spacing=80))
    assert len(right) == len(left) == 11
    assert all(run[1][0] < 0 for run in right)
    assert all(run[1][0] > 0 for run in left)
