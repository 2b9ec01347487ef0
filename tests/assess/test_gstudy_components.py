"""Variance components against printed tables and R lme4."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fabella.assess.components import Components
from fabella.assess.gstudy_anova import anova
from fabella.assess.gstudy_detect import g_study
from fabella.assess.gstudy_profile import expected_counts
from fabella.assess.gstudy_reml import reml
from fabella.errors import InputError
from tests.assess import worked_tables as worked
from tests.assess.by_henderson import henderson, parse_design
from tests.assess.worked_tables import Codes, Scores, Table
from tests.reference import run_r

# Printed in Brennan 2001 Generalizability Theory (chapters 2 and 3): name of the effect, mean square,
# variance component.
BRENNAN: dict[str, tuple[Table, str, dict[str, tuple[float, float]]]] = {
    "set 1": (
        worked.set1,
        "p x i",
        {"p": (0.8157, 0.0574), "i": (0.8811, 0.0754), "p*i": (0.1269, 0.1269)},
    ),
    "set 2": (worked.set2, "i:p", {"p": (6.9111, 0.6108), "i:p": (2.0250, 2.0250)}),
    "set 3": (
        worked.set3,
        "p x i x o",
        {
            "p": (6.9111, 0.5528),
            "i": (12.4833, 0.4417),
            "o": (3.2000, 0.0074),
            "p*i": (2.0852, 0.5750),
            "p*o": (1.3389, 0.1009),  # one copy has 1.3383, which its own .1009 refutes
            "i*o": (2.5000, 0.1565),
            "p*i*o": (0.9352, 0.9352),
        },
    ),
    "set 4": (
        worked.set4,
        "p x (r:t)",
        {
            "p": (10.2963, 0.4731),
            "t": (24.1000, 0.3252),
            "r:t": (8.8556, 0.6475),
            "p*t": (4.6185, 0.5596),
            "p*r:t": (2.3802, 2.3802),
        },
    ),
}


@pytest.mark.parametrize("name", BRENNAN)
def test_printed_mean_squares_and_components(name: str) -> None:
    """Mean squares and components of Brennan's balanced data sets are met to the four digits printed."""
    make, text, printed = BRENNAN[name]
    score, codes = make()
    found = anova(score, codes, design=parse_design(text))
    for effect, (ms, variance) in printed.items():
        assert (found.row(effect).ms, found.components.of(effect).variance) == pytest.approx(
            (ms, variance),
            abs=0.00006,  # 2.38025 is printed as 2.3802
        )


def test_printed_sums_of_squares() -> None:
    """Sums of squares and degrees of freedom are those printed for data sets 1, 2 and 4 (Brennan 2001)."""
    one = anova(*worked.set1(), design=parse_design("p x i"))
    assert [row.df for row in one.rows] == [9, 11, 99]
    assert [row.ss for row in one.rows] == pytest.approx([7.3417, 9.6917, 12.5583], abs=0.00005)
    two = anova(*worked.set2(), design=parse_design("i:p"))
    assert [row.ss for row in two.rows] == pytest.approx([62.2, 141.75], abs=0.005)
    four = anova(*worked.set4(), design=parse_design("p x (r:t)"))
    printed = {"p": 92.6667, "t": 48.2, "r:t": 79.7, "p*t": 83.1333, "p*r:t": 192.8}
    assert {name: four.row(name).ss for name in printed} == pytest.approx(printed, abs=0.00005)


# Unbalanced tables: printed T values and components. Rajaratnam and Huynh as in Brennan 2001, chapter 7;
# Henderson 1953; Narayanan 2010 as in the tutorial of a Python package, three decimals.
UNBALANCED: dict[str, tuple[Table, str, dict[str, float], float]] = {
    "rajaratnam": (
        worked.rajaratnam,
        "p x (i:h)",
        {"p": 1.2014, "h": 2.9161, "i:h": 0.2946, "p*h": 0.9914, "p*i:h": 0.8429},
        0.00006,
    ),
    "huynh": (worked.huynh, "p x i", {"p": 0.0473, "i": 0.0117, "p*i": 0.1840}, 0.00006),
    "narayanan": (
        worked.narayanan,
        "(p:d) x i",
        {"d": 0.002, "p:d": 0.092, "i": 0.028, "d*i": -0.016, "p*i:d": 0.157},
        0.0005,
    ),
}


@pytest.mark.parametrize("name", UNBALANCED)
def test_henderson_meets_printed_components(name: str) -> None:
    """Henderson's method 1 meets published unbalanced tables; one printed .9913 is exactly .99143."""
    make, text, printed, tolerance = UNBALANCED[name]
    found = henderson(*make(), design=parse_design(text))
    assert {part.name: part.variance for part in found.parts} == pytest.approx(printed, abs=tolerance)


def test_henderson_1953_itself() -> None:
    """The herds, sires and years of Henderson 1953, mostly empty cells, give his T values and components."""
    score, codes = worked.henderson_1953()
    herd, sire, year = (codes[name] for name in ("herd", "sire", "year"))
    both = np.unique(herd * 10 + sire, return_inverse=True)[1]
    matrix, t = expected_counts(score, [year - 1, herd - 1, sire - 1, both])
    printed = [10_685_141, 10_776_451, 10_893_666, 10_776_278, 10_970_369, 11_124_007]
    assert t == pytest.approx(printed, abs=1)
    found = np.linalg.solve(matrix, t)[1:]
    assert found == pytest.approx([763, 4531, 1587, -164, 2950], abs=1)


def test_printed_t_values() -> None:
    """T values of Rajaratnam's and Huynh's tables are those printed (Brennan 2001, chapter 7)."""
    score, codes = worked.rajaratnam()
    p, h, i = codes["p"], codes["h"], codes["i"]
    _, t = expected_counts(score, [p, h, i, p * 3 + h])
    assert t == pytest.approx([1296.0, 1390.0, 1424.0, 1440.0, 1564.5, 1610.0], abs=0.05)
    score, codes = worked.huynh()
    _, t = expected_counts(score, [codes["p"], codes["i"]])
    assert t == pytest.approx([23.2034, 27.8, 24.7432, 37.0], abs=0.00005)


@settings(max_examples=15, deadline=None)
@given(
    st.sampled_from(["p x s", "p x (r:s)", "(p:c) x s", "s:p", "p x s x r", "(p:c) x (r:s)"]),
    st.integers(0, 10**6),
)
def test_three_estimators_agree_on_balanced_data(text: str, seed: int) -> None:
    """On balanced tables Henderson's method equals ANOVA always, and REML where no component is below 0.

    REML's standard errors then are those of ANOVA with df in place of df + 2.
    """
    rng = np.random.default_rng(seed)
    design = parse_design(text)
    score, codes = balanced(text, rng)
    table = anova(score, codes, design=design)
    names = [part.name for part in table.components.parts]
    exact = {part.name: part.variance for part in table.components.parts}
    other = henderson(score, codes, design=design)
    assert {part.name: part.variance for part in other.parts} == pytest.approx(exact, abs=1e-8)
    fit = reml(score, codes, design=design)
    assert fit.converged
    if min(exact.values()) > 0.01:
        assert {name: fit.components.of(name).variance for name in names} == pytest.approx(exact, abs=2e-5)
        inside = {row.name: row for row in table.rows}
        residual = fit.components.residual
        row = inside[residual.name]
        assert residual.se == pytest.approx(row.ms * np.sqrt(2 / row.df), rel=1e-4)


def balanced(text: str, rng: np.random.Generator) -> tuple[Scores, Codes]:
    """Return scores of a complete small exam of this design: 6 candidates, 4 stations, 2 or 3 of the rest."""
    number = {"p": 6, "s": 4, "r": 3, "c": 2}
    design = parse_design(text)
    grid = np.indices([number[name] for name in design.facets]).reshape(len(design.facets), -1)
    codes = dict(zip(design.facets, grid, strict=True))
    score = np.zeros(grid.shape[1])
    for effect in design.effects:
        key = np.zeros(len(score), dtype=np.intp)
        for name in effect:
            key = key * 10 + codes[name]
        score += rng.normal(0, 1.5, key.max() + 1)[key]
    return score, codes


# The random part of each table in R's notation, and the names of its groups in our order.
IN_R = """
d <- read.csv(text = "{data}")
for (name in setdiff(names(d), "y")) d[[name]] <- factor(d[[name]])
m <- lmer(y ~ 1 + {random}, d, REML = TRUE, control = lmerControl(optimizer = "bobyqa",
  optCtrl = list(rhoend = 1e-9), check.conv.singular = "ignore", calc.derivs = FALSE))
v <- as.data.frame(VarCorr(m))
cat(sprintf("%s %.10g\\n", v$grp, v$vcov), sep = "")
cat(sprintf("deviance %.10g\\nmean %.10g\\nmean_se %.10g\\n", REMLcrit(m), fixef(m), sqrt(vcov(m)[1, 1])))
"""
LME4: dict[str, tuple[Table, str, dict[str, str]]] = {
    "set 1": (worked.set1, "p x i", {"p": "p", "i": "i"}),
    "set 3": (
        worked.set3,
        "p x i x o",
        {n: n.replace("*", ":") for n in ("p", "i", "o", "p*i", "p*o", "i*o")},
    ),
    "set 4": (worked.set4, "p x (r:t)", {"p": "p", "t": "t", "r:t": "r", "p*t": "p:t"}),
    "rajaratnam": (worked.rajaratnam, "p x (i:h)", {"p": "p", "h": "h", "i:h": "i", "p*h": "p:h"}),
    "huynh": (worked.huynh, "p x i", {"p": "p", "i": "i"}),
    "narayanan": (worked.narayanan, "(p:d) x i", {"d": "d", "p:d": "p", "i": "i", "d*i": "d:i"}),
    "gleser": (
        worked.gleser,
        "p x i x j",
        {n: n.replace("*", ":") for n in ("p", "i", "j", "p*i", "p*j", "i*j")},
    ),
}


@pytest.mark.parametrize("name", LME4)
def test_reml_agrees_with_lme4(name: str) -> None:
    """Components, deviance, mean and its error agree with R lme4 on published tables, balanced or not."""
    make, text, groups = LME4[name]
    score, codes = make()
    ours = reml(score, codes, design=parse_design(text))
    theirs = lme4(score, codes, groups.values())
    for name_here, group in groups.items():
        assert ours.components.of(name_here).variance == pytest.approx(theirs[group], abs=3e-4), name_here
    assert ours.components.residual.variance == pytest.approx(theirs["Residual"], rel=3e-4)
    assert ours.deviance == pytest.approx(theirs["deviance"], abs=1e-5)
    assert float(ours.fixed[0]) == pytest.approx(theirs["mean"], abs=1e-4)
    assert float(ours.fixed_se[0]) == pytest.approx(theirs["mean_se"], rel=1e-3)


@pytest.mark.parametrize("seed", [1, 2])
def test_reml_agrees_with_lme4_on_a_ragged_exam(seed: int) -> None:
    """An exam of roaming examiners with a fifth of its marks missing gives lme4's components."""
    rng = np.random.default_rng(seed)
    p, s = (code.ravel() for code in np.indices((40, 8)))
    r = rng.integers(0, 12, len(p))
    score = 60 + rng.normal(0, 4, 40)[p] + rng.normal(0, 3, 8)[s] + rng.normal(0, 2, 12)[r]
    score += rng.normal(0, 6, len(p))
    kept = rng.random(len(p)) > 0.2
    codes = {"p": p[kept], "s": s[kept], "r": r[kept]}
    ours = reml(score[kept], codes, design=parse_design("p x s x r"), terms=[("p",), ("s",), ("r",)])
    theirs = lme4(score[kept], codes, ("p", "s", "r"))
    for group in ("p", "s", "r"):
        assert ours.components.of(group).variance == pytest.approx(theirs[group], rel=1e-3, abs=1e-3)
    assert ours.deviance == pytest.approx(theirs["deviance"], abs=1e-5)


def lme4(score: Scores, codes: Codes, groups: object) -> dict[str, float]:
    """Return what lmer says of these groups: variances by name, deviance, mean and its error."""
    lines = [",".join(["y", *codes])]
    lines += [",".join(map(str, row)) for row in zip(score.tolist(), *codes.values(), strict=True)]
    random = " + ".join(f"(1 | {group})" for group in groups)  # type: ignore[attr-defined]
    printed = run_r(IN_R.format(data="\n".join(lines), random=random), "lme4")
    return {key: float(value) for key, value in (line.split() for line in printed.splitlines())}


def partly_marked_twice(seed: int) -> tuple[Scores, Codes]:
    """Forty candidates in two circuits of six stations; every third is seen by a second examiner as well.

    What examiners, stations and candidates differ in is small beside the rest, as in a short exam.
    """
    dice, people, stations = np.random.default_rng(seed), 40, 6
    rows = [
        (who, place, who % 2, examiner)
        for who in range(people)
        for place in range(stations)
        for examiner in (who % 2 * stations + place, *((2 * stations + place,) if who % 3 == 0 else ()))
    ]
    p, s, c, e = np.array(rows).T
    able, hard, severe = (
        sd * dice.normal(size=n) for sd, n in ((2.5, people), (0.5, stations), (1.5, 3 * stations))
    )
    score = 50 + able[p] + hard[s] + severe[e] + 12 * dice.normal(size=len(p))
    return np.round(score, 4), {"candidate": p, "station": s, "circuit": c, "examiner": e}


@pytest.mark.parametrize("seed", [7, 25, 38])
def test_a_search_that_runs_into_bounds_again_and_again_ends_where_lme4_does(seed: int) -> None:
    """Of 150 such exams these three had no components, "too few marks": each ran into its bounds."""
    score, codes = partly_marked_twice(seed)
    found = g_study(score, codes)
    assert found.model.converged
    groups = {part.name: ":".join(part.effect) for part in found.model.components.parts[:-1]}
    theirs = lme4(score, codes, groups.values())
    assert found.model.deviance == pytest.approx(theirs["deviance"], abs=1e-4)
    for name, group in groups.items():
        (there,) = (v for key, v in theirs.items() if set(key.split(":")) == set(group.split(":")))
        assert found.model.components.of(name).variance == pytest.approx(there, abs=0.01)
    assert found.model.components.residual.variance == pytest.approx(theirs["Residual"], abs=0.01)


def test_agreement_of_raters_with_a_mark_missing() -> None:
    """The share of true variance among 40 essays, 10 raters, one mark missing, is .554.

    Source: REML in another program; the 39 complete essays alone give .531.
    """
    rows = worked.table("icc_essays_ptam4_crit2_wide_40x10.csv")
    marks = np.array(
        [[float(cell) if cell not in {"", "NA"} else np.nan for cell in row[1:]] for row in rows]
    )
    p, r = np.nonzero(np.isfinite(marks))
    found = reml(marks[p, r], {"p": p, "r": r}, design=parse_design("p x r")).components
    assert found.shares["p"] == pytest.approx(0.554, abs=0.0005)


def test_predicted_effects_of_a_balanced_exam_are_shrunken_means() -> None:
    """In p x s the predicted effect of a candidate is n s²_p / (n s²_p + s²_ps) times their deviation."""
    score, codes = worked.set1()
    fit = reml(score, codes, design=parse_design("p x i"))
    means = score.reshape(10, 12).mean(axis=1) - score.mean()
    p, rest = fit.components.of("p").variance, fit.components.residual.variance
    shrink = 12 * p / (12 * p + rest)
    assert fit.of("p").estimate == pytest.approx(shrink * means, abs=1e-9)


def test_bad_input_is_refused_with_every_problem() -> None:
    """Missing scores, negative codes and unequal cells are told, all at once."""
    design = parse_design("p x s")
    with pytest.raises(InputError) as raised:
        reml([1.0, np.nan, 3.0], {"p": [0, 0, 1], "s": [0, 1]}, design=design)
    assert {problem.place for problem in raised.value.problems} == {"score", "s"}
    with pytest.raises(InputError, match="not balanced"):
        anova([1.0, 2.0, 4.0, 3.0, 1.0], {"p": [0, 0, 1, 1, 1], "s": [0, 1, 0, 1, 1]}, design=design)
    with pytest.raises(InputError, match="missing"):
        anova(np.arange(6.0), {"p": [0, 0, 1, 1, 2, 2], "s": [0, 1, 1, 2, 2, 0]}, design=design)
    with pytest.raises(InputError, match="did you mean"):
        _ = anova(*worked.set1(), design=parse_design("p x i")).components.of("p*ii")


def test_no_variance_is_below_zero_under_reml() -> None:
    """A component that ANOVA estimates below 0 is at its bound under REML, and both say so."""
    score, codes = worked.narayanan()
    design = parse_design("(p:d) x i")
    raw: Components = henderson(score, codes, design=design)
    bound = reml(score, codes, design=design).components
    assert raw.of("d*i").variance < 0 == bound.of("d*i").variance == raw.of("d*i").used
    assert "below 0" in raw.warnings[0]
    assert any("d*i" in warning for warning in bound.warnings)
