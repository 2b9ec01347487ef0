"""Coefficients and their planning against printed values."""

from dataclasses import replace

import numpy as np
import pytest

from fabella.assess.components import Component, Components
from fabella.assess.dstudy import as_marked, phi_at_cut, project
from fabella.assess.dstudy_curves import curve, needed
from fabella.assess.gstudy_anova import anova
from fabella.assess.gstudy_design import Design
from fabella.errors import InputError
from tests.assess import worked_tables as worked
from tests.assess.by_henderson import henderson, parse_design

PXI, PXR_T = parse_design("p x i"), parse_design("p x (r:t)")


def set1() -> Components:
    """Components of Brennan's data set 1."""
    return anova(*worked.set1(), design=PXI).components


def set4() -> Components:
    """Components of Brennan's data set 4."""
    return anova(*worked.set4(), design=PXR_T).components


def test_printed_coefficients_of_data_set_1() -> None:
    """G .8445 and Phi .7730 for 12 items, and the table for 5 to 20 items, as printed (Brennan 2001).

    The table cuts the third decimal off instead of rounding it (.6935 is .693, .5866 is .586).
    """
    found = project(set1(), design=PXI, counts={"i": 12})
    assert (found.g, found.phi) == pytest.approx((0.8445, 0.7730), abs=0.00005)
    printed = {5: (0.693, 0.586), 10: (0.819, 0.740), 15: (0.871, 0.810), 20: (0.901, 0.850)}
    points = curve(set1(), design=PXI, facet="i", numbers=printed, counts={})
    for point in points:
        dependable = point.dependability
        assert (dependable.g, dependable.phi) == pytest.approx(printed[point.count], abs=0.001)


def test_g_of_persons_by_items_is_cronbachs_alpha() -> None:
    """G of a complete table equals alpha, computed here from its definition: .8444949 (R)."""
    score, codes = worked.set1()
    by_item = score.reshape(10, 12)
    alpha = 12 / 11 * (1 - by_item.var(axis=0, ddof=1).sum() / by_item.sum(axis=1).var(ddof=1))
    found = as_marked(set1(), design=PXI, codes=codes)
    assert found.g == pytest.approx(alpha, abs=1e-12) == pytest.approx(0.8444949, abs=5e-8)


@pytest.mark.parametrize(
    ("text", "table", "counts", "fixed", "printed"),
    [
        ("i:p", worked.set2, {"i": 8}, (), (0.71, 0.71)),
        ("p x i x o", worked.set3, {"i": 4, "o": 2}, (), (0.64, 0.55)),
        ("p x i x o", worked.set3, {"i": 4, "o": 2}, ("i",), (0.81, 0.79)),
        ("p x (r:t)", worked.set4, {"t": 3, "r": 4}, (), (0.55, 0.46)),
        ("p x (r:t)", worked.set4, {"t": 3, "r": 4}, ("t",), (0.77, 0.72)),
    ],
)
def test_printed_coefficients_with_random_and_fixed_facets(
    text: str,
    table: worked.Table,
    counts: dict[str, float],
    fixed: tuple[str, ...],
    printed: tuple[float, float],
) -> None:
    """G and Phi of data sets 2 to 4, with all facets random and with one fixed, as printed (Brennan 2001)."""
    score, codes = table()
    design = candidates_first(text)
    components = anova(score, codes, design=design).components
    found = project(components, design=design, counts=counts, fixed=fixed)
    assert (found.g, found.phi) == pytest.approx(printed, abs=0.0051)
    held = as_marked(components, design=design, codes=codes, fixed=fixed)
    assert (held.g, held.phi) == pytest.approx((found.g, found.phi), abs=1e-12)


def candidates_first(text: str) -> Design:
    """Return the design with p as its first facet."""
    design = parse_design(text)
    order = sorted(design.facets, key=lambda name: name != "p")
    return Design(facets=tuple(order), nests=tuple(design.nests[design.facets.index(n)] for n in order))


def test_printed_coefficients_of_unbalanced_tables() -> None:
    """G .716 and Phi .4277 (Rajaratnam 1965), G .5507 and Phi .5354 (Huynh 1977), as in Brennan 2001.

    Huynh's are printed from components rounded to four decimals; unrounded they are .5505 and .5351.
    """
    design = parse_design("p x (i:h)")
    score, codes = worked.rajaratnam()
    found = as_marked(henderson(score, codes, design=design), design=design, codes=codes)
    assert (found.g, found.phi) == pytest.approx((0.716, 0.4277), abs=0.0005)
    score, codes = worked.huynh()
    raw = henderson(score, codes, design=PXI)
    rounded = replace(raw, parts=tuple(replace(p, variance=round(p.variance, 4)) for p in raw.parts))
    found = as_marked(rounded, design=PXI, codes=codes)
    assert (found.g, found.phi) == pytest.approx((0.5507, 0.5354), abs=0.00005)
    exact = as_marked(raw, design=PXI, codes=codes)
    assert (exact.g, exact.phi) == pytest.approx((0.5505, 0.5351), abs=0.00006)


def test_candidates_within_sites() -> None:
    """Phi of patients within doctors is .718 as printed; G .752 is printed from rounded parts, .094 and .031.

    Source: Narayanan 2010 as quoted in the tutorial of a Python package. Unrounded, G is .750.
    """
    design = candidates_first("(p:d) x i")
    score, codes = worked.narayanan()
    components = henderson(score, codes, design=design)
    found = as_marked(components, design=design, codes=codes, outer="true score")
    assert found.phi == pytest.approx(0.718, abs=0.0005)
    assert found.g == pytest.approx(0.7495, abs=0.0005)
    rounded = round(found.true, 3), round(found.relative, 3)
    assert rounded[0] / sum(rounded) == pytest.approx(0.752, abs=0.0005)


def test_stations_needed() -> None:
    """Set 4 needs 25 stations for G and 34 for Phi of .8 with one examiner, 15 and 21 with two.

    Source: computed in R from the four-decimal components of Brennan's table 3.2; so are G .6589 and Phi
    .5920 of 12 stations with one examiner, G .7644 with two and .7434 of 18 stations.
    """
    components = set4()
    for examiners, for_g, for_phi in ((1, 25, 34), (2, 15, 21)):
        given = {"r": float(examiners)}
        arguments = {"design": PXR_T, "facet": "t", "target": 0.8, "counts": given}
        assert needed(components, coefficient="g", **arguments) == for_g  # type: ignore[arg-type]
        assert needed(components, coefficient="phi", **arguments) == for_phi  # type: ignore[arg-type]
    at = {
        (t, r): project(components, design=PXR_T, counts={"t": t, "r": r})
        for t, r in ((12, 1), (12, 2), (18, 1))
    }
    assert (at[12, 1].g, at[12, 1].phi) == pytest.approx((0.6589, 0.5920), abs=0.00006)
    assert (at[12, 2].g, at[18, 1].g) == pytest.approx((0.7644, 0.7434), abs=0.00006)


def test_an_error_that_stations_do_not_average_can_make_a_target_unreachable() -> None:
    """With circuits that differ much, no number of stations reaches the target, and None says so."""
    rng = np.random.default_rng(5)
    c, p, s = (code.ravel() for code in np.indices((4, 25, 10)))
    score = rng.normal(0, 3, 4)[c] + rng.normal(0, 1, 100)[c * 25 + p] + rng.normal(0, 1, len(c))
    design = candidates_first("(p:c) x s")
    components = anova(score, {"p": c * 25 + p, "c": c, "s": s}, design=design).components
    assert needed(components, design=design, facet="s", target=0.8, counts={}) is None
    assert needed(components, design=design, facet="s", target=0.8, counts={}, coefficient="g") is not None


@pytest.mark.parametrize(
    ("cut", "expected"),
    [
        (0.4, 0.8045674),
        (0.5, 0.7390029),
        (0.6, 0.7320891),
        (0.7, 0.7925408),
        (0.8, 0.8590434),
        (0.9, 0.9052587),
    ],
)
def test_dependability_at_the_pass_mark(cut: float, expected: float) -> None:
    """Phi(lambda) of data set 1 is what R computes by the estimator of Brennan and Kane 1977."""
    _, codes = worked.set1()
    held = as_marked(set1(), design=PXI, codes=codes)
    assert phi_at_cut(set1(), held, cut=cut, design=PXI, codes=codes) == pytest.approx(expected, abs=5e-8)


def test_dependability_at_the_mean_is_kr21() -> None:
    """At the grand mean Phi(lambda) is KR-21 for 0/1 items: .7244866, from its formula and from R."""
    score, codes = worked.set1()
    totals = score.reshape(10, 12).sum(axis=1)
    kr21 = 12 / 11 * (1 - totals.mean() * (12 - totals.mean()) / (12 * totals.var()))
    held = as_marked(set1(), design=PXI, codes=codes)
    at_mean = phi_at_cut(set1(), held, cut=float(score.mean()), design=PXI, codes=codes)
    assert at_mean == pytest.approx(kr21, abs=1e-12) == pytest.approx(0.7244866, abs=5e-8)


def test_printed_d_study_of_an_interview_circuit() -> None:
    """0.13/(0.13+0.30/12+0.52/28) = .75 and 0.21/(0.21+0.38/9+0.48/19.5) = .76 (BMC Med Educ 2014;14:54)."""
    for (p, ps, pr), (s, r), printed in (
        ((0.13, 0.30, 0.52), (12, 28), 0.75),
        ((0.21, 0.38, 0.48), (9, 19.5), 0.76),
    ):
        parts = tuple(
            Component(name="*".join(e), effect=e, variance=v, se=None, levels=2)
            for e, v in ((("p",), p), (("p", "s"), ps), (("p", "r"), pr))
        )
        components = Components(method="REML", parts=parts, mean=0.0, n=8)
        found = project(components, design=parse_design("p x s x r"), counts={"s": s, "r": r})
        assert found.g == pytest.approx(printed, abs=0.005)


def test_what_cannot_be_projected_is_refused() -> None:
    """A facet without a number, below 1 or unknown, and a target beyond 1 are refused by name."""
    with pytest.raises(InputError) as raised:
        project(set4(), design=PXR_T, counts={"t": 0.5, "judges": 3})
    assert {problem.value for problem in raised.value.problems} == {"0.5", "r", "judges"}
    with pytest.raises(InputError, match="target"):
        needed(set1(), design=PXI, facet="i", target=1.0, counts={})
