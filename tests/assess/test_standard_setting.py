"""Pass marks against R on a constructed table, live where R is there, and against printed examples."""

from statistics import NormalDist
from typing import Any, Literal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from fabella.assess import (
    Bounds,
    CohortFlag,
    Estimates,
    GroupFlag,
    LineFlag,
    angoff,
    borderline_group,
    cohen,
    contrasting_groups,
    fit_line,
    hofstee,
    resample,
)
from fabella.assess.borderline_regression import bootstrap_cuts
from fabella.assess.resampled_groups import bootstrap_borderline_group, bootstrap_contrasting
from fabella.errors import InputError
from tests.assess.worked_tables import table
from tests.reference import run_r

GRADES = (0.0, 1.0, 2.0, 3.0, 4.0)
ROWS = np.array(table("brm_constructed_40.csv"), dtype=np.float64)
GRADE, SCORE = ROWS[:, 1], ROWS[:, 2]
JUDGES = np.array(table("angoff_constructed_6judges_10items.csv"), dtype=np.float64)[:, 1:] / 100
ITEMS = tuple(f"I{i}" for i in range(10))
ESTIMATES = Estimates(
    judges=tuple("123456"), items=ITEMS, share=tuple(map(tuple, JUDGES.tolist())), max_mark=(10.0,) * 10
)
HOFSTEE = Bounds(lowest_cut=50, highest_cut=65, least_fails=0.05, most_fails=0.30)
ONE_STATION: dict[str, Any] = {
    "candidate": np.arange(40, dtype=np.int32),
    "station": np.zeros(40, dtype=np.int32),
}


def test_borderline_regression_is_that_of_r_as_recorded() -> None:
    """Cut, error, interval, slope, R2 and failures equal R 4.2.2 lm() and predict()."""
    line = fit_line(SCORE, GRADE, borderline=1, values=GRADES)
    assert line.intercept == pytest.approx(10.372505543, abs=5e-10)
    assert line.slope == pytest.approx(3.894678492, abs=5e-10)
    assert line.r2 == pytest.approx(0.8445943, abs=5e-8)
    assert line.residual_sd == pytest.approx(1.820025, abs=5e-7)
    assert line.cut.estimate == pytest.approx(14.26718404, abs=5e-9)
    assert line.se == pytest.approx(0.4654791, abs=5e-8)
    assert (line.cut.low, line.cut.high) == pytest.approx((13.32487083, 15.20949724), abs=5e-9)
    assert (SCORE < line.cut.estimate).sum() == 5
    assert line.per_grade == (2, 6, 14, 12, 6)
    assert line.flags == (LineFlag.SMALL_COHORT,)


def test_grade_on_score_would_give_another_cut() -> None:
    """Regressed the wrong way round the cut would be 13.29974 (R): the direction is no matter of taste."""
    slope, intercept = np.polyfit(SCORE, GRADE, 1)
    assert (1 - intercept) / slope == pytest.approx(13.29974, abs=5e-6)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_borderline_regression_agrees_with_r_on_random_tables(seed: int) -> None:
    """Cut, error, interval, R2, the quadratic term and the logistic cut equal lm, predict, anova and glm."""
    dice = np.random.default_rng(seed)
    grade = dice.integers(0, 5, size=70).astype(np.float64)
    score = np.round(40 + 9 * grade + 1.5 * (grade - 2) ** 2 + dice.normal(scale=9, size=70), 1)
    code = f"""
    y <- c({",".join(map(str, score))}); g <- c({",".join(map(str, grade))})
    m <- lm(y ~ g); p <- predict(m, data.frame(g = 1), se.fit = TRUE, interval = "confidence")
    q <- lm(y ~ g + I(g^2)); l <- glm((g > 1) ~ y, family = binomial, control = list(epsilon = 1e-14))
    cat(format(c(p$fit, p$se.fit, summary(m)$r.squared, summary(q)$r.squared - summary(m)$r.squared,
        anova(m, q)[2, 6], -coef(l)[1] / coef(l)[2]), digits = 12), sep = "\\n")
    """
    cut, low, high, se, r2, gain, p, logistic = map(float, run_r(code).split())
    line = fit_line(score, grade, borderline=1, values=GRADES)
    assert (line.cut.estimate, line.cut.low, line.cut.high) == pytest.approx((cut, low, high), abs=1e-8)
    assert (line.se, line.r2, line.r2_gain) == pytest.approx((se, r2, gain), abs=1e-8)
    assert line.p_curved == pytest.approx(p, rel=1e-6)
    assert (LineFlag.CURVED in line.flags) == (gain > 0.03 and p < 0.05)
    found = contrasting_groups(score, grade > 1, rule="logistic")
    assert found.cut == pytest.approx(logistic, abs=1e-6)


def test_the_bootstrap_agrees_with_the_formula_and_with_r() -> None:
    """The error of 20,000 resamples is within 2 % of R's bootstrap, 0.4652638, and of the formula."""
    counts = resample(40, seed="constructed", times=20_000)
    cuts = bootstrap_cuts(SCORE, GRADE, **ONE_STATION, n_stations=1, counts=counts, borderline=1)
    assert cuts.std(ddof=1) == pytest.approx(0.4652638, rel=0.02)
    assert cuts.std(ddof=1) == pytest.approx(0.4654791, rel=0.02)


def test_resampled_cuts_are_those_of_the_resampled_candidates() -> None:
    """The product of matrices gives what fitting each resample by itself gives, two sheets a candidate."""
    dice = np.random.default_rng(5)
    candidate = np.repeat(np.arange(30, dtype=np.int32), 4)
    station = np.tile(np.array([0, 0, 1, 1], dtype=np.int32), 30)
    grade = dice.integers(0, 5, size=120).astype(np.float64)
    score = 30 + 10 * grade + dice.normal(scale=8, size=120)
    score[7], grade[11] = np.nan, np.nan
    counts = resample(30, seed="a", times=3)
    cuts = bootstrap_cuts(
        score, grade, candidate=candidate, station=station, n_stations=2, counts=counts, borderline=1
    )
    for row, drawn in zip(cuts, counts, strict=True):
        for s in (0, 1):
            times = np.where(station == s, drawn[candidate], 0).astype(int)
            line = fit_line(np.repeat(score, times), np.repeat(grade, times), borderline=1, values=GRADES)
            assert row[s] == pytest.approx(line.cut.estimate, abs=1e-9)


def test_resamples_depend_on_the_seed_alone() -> None:
    """The same text throws the same dice, another text others; the first draws are pinned for 2031."""
    again = resample(7, seed="x", times=4)
    assert (again == resample(7, seed="x", times=4)).all()
    assert not (again == resample(7, seed="y", times=4)).all()
    assert again.sum(axis=1).tolist() == [7] * 4
    assert again[0].tolist() == [1.0, 1.0, 1.0, 2.0, 0.0, 1.0, 1.0]


def test_strata_keep_their_sizes() -> None:
    """Resampling within circuits draws as many from each circuit as it has."""
    strata = np.array([0, 1, 1, 2, 2, 2], dtype=np.int32)
    counts = resample(6, seed="s", times=50, strata=strata)
    for group, size in ((0, 1), (1, 2), (2, 3)):
        assert (counts[:, strata == group].sum(axis=1) == size).all()


def test_a_line_that_cannot_be_trusted_is_flagged() -> None:
    """Nobody at or below borderline, few there, a falling line, a cut outside the scores are flagged."""
    dice = np.random.default_rng(2)
    grade = np.repeat([2.0, 3.0, 4.0], 30)
    up = 50 + 10 * grade + dice.normal(scale=2, size=90)
    flags = fit_line(up, grade, borderline=1, values=GRADES).flags
    assert {LineFlag.EXTRAPOLATED, LineFlag.FEW_BORDERLINE, LineFlag.OUTSIDE_SCORES} <= set(flags)
    assert LineFlag.NOT_RISING in fit_line(-up, grade, borderline=1, values=GRADES).flags
    assert fit_line(up, np.full(90, 2.0), borderline=1, values=GRADES).flags == (LineFlag.NO_LINE,)
    assert fit_line(up[:2], grade[[0, 40]], borderline=1, values=GRADES).flags == (LineFlag.NO_LINE,)


def test_contradictions_name_the_sheets() -> None:
    """A fail above the cut and a pass below it are listed; a borderline on either side is not."""
    score, grade = SCORE.copy(), GRADE.copy()
    score[0], score[39] = 29, 9
    line = fit_line(score, grade, borderline=1, values=GRADES)
    assert {0, 39} <= {each.sheet for each in line.contradictions}
    assert all(each.grade != 1 for each in line.contradictions)


def test_a_sheet_without_score_or_grade_is_left_out() -> None:
    """Gaps change nothing but the number of sheets."""
    whole = fit_line(SCORE, GRADE, borderline=1, values=GRADES)
    gappy = fit_line(
        np.append(SCORE, [np.nan, 3.0]), np.append(GRADE, [4.0, np.nan]), borderline=1, values=GRADES
    )
    assert gappy == whole


def test_borderline_group_as_recorded() -> None:
    """Mean and median 14.5 with SE 0.7637626 by R, and a warning that six are few."""
    mean = borderline_group(SCORE, GRADE, borderline=1)
    assert (mean.cut, mean.n, mean.flags) == (14.5, 6, (GroupFlag.FEW_BORDERLINE,))
    assert mean.se == pytest.approx(0.7637626, abs=5e-8)
    assert borderline_group(SCORE, GRADE, borderline=1, middle="median").cut == 14.5
    assert borderline_group(SCORE, GRADE + 5, borderline=1).flags == (GroupFlag.NO_GROUP,)


def test_contrasting_groups_as_recorded() -> None:
    """The logistic cut is R's 15.61279; at the intersection both densities, weighted, are equal."""
    logistic = contrasting_groups(SCORE, GRADE >= 2, rule="logistic")
    assert logistic.cut == pytest.approx(15.61279, abs=5e-6)
    cut = contrasting_groups(SCORE, GRADE >= 2, rule="intersection").cut
    low, high = SCORE[GRADE < 2], SCORE[GRADE >= 2]
    densities = [len(group) * NormalDist(group.mean(), group.std(ddof=1)).pdf(cut) for group in (low, high)]
    assert densities[0] == pytest.approx(densities[1], rel=1e-9)
    assert low.mean() < cut < high.mean()


def test_groups_that_are_alike_do_not_cross() -> None:
    """Curves of one mean and one width are the same, or one lies above: no score parts the groups."""
    for times in (1, 2):
        score = np.array([40.0, 50.0, 60.0] * (1 + times))
        found = contrasting_groups(score, np.arange(len(score)) < 3, rule="intersection")
        assert np.isnan(found.cut)
        assert GroupFlag.NO_CROSSING in found.flags


def test_a_group_whose_scores_are_alike_crosses_nothing() -> None:
    """Every number of sheets with the same score has no spread, though the mean of 11 of them rounds.

    By definition: a density without spread is none. In one of five such groups the pass mark had been put
    within a millionth of that score.
    """
    above = 100 * np.array([20, 22, 25, 29, 30]) / 36
    for n in range(2, 40):
        for earned in range(1, 18):
            score = np.concatenate([np.full(n, 100 * earned / 36), above])
            found = contrasting_groups(score, np.arange(len(score)) >= n, rule="intersection")
            assert np.isnan(found.cut)
            assert GroupFlag.NO_GROUP in found.flags


def test_each_resample_crosses_where_its_own_candidates_do() -> None:
    """With few sheets below borderline a resample may draw one of them again and again: no spread, no cut."""
    dice = np.random.default_rng(4)
    score = np.round(36 * np.concatenate([dice.uniform(0.3, 0.6, 3), dice.uniform(0.45, 0.9, 9)])) * 100 / 36
    competent = np.arange(12) >= 3
    counts = dice.multinomial(12, np.full(12, 1 / 12), size=300).astype(np.float64)
    who = np.arange(12, dtype=np.int32)
    drawn = bootstrap_contrasting(score, competent, candidate=who, counts=counts, rule="intersection")
    expected = [
        contrasting_groups(
            np.repeat(score, row.astype(int)), np.repeat(competent, row.astype(int)), rule="intersection"
        ).cut
        for row in counts
    ]
    assert 30 < np.isnan(expected).sum() < 270
    np.testing.assert_allclose(drawn, expected, rtol=1e-9)


def test_least_loss_has_no_better_score() -> None:
    """No observed score as pass mark errs less than the one chosen, and dearer false passes move it up."""

    def loss(cut: float, dear: float) -> float:
        return float(dear * ((cut <= SCORE) & (GRADE < 2)).sum() + ((cut > SCORE) & (GRADE >= 2)).sum())

    cuts = {}
    for dear in (1.0, 5.0):
        cuts[dear] = contrasting_groups(SCORE, GRADE >= 2, rule="least_loss", false_pass=dear).cut
        assert loss(cuts[dear], dear) == min(loss(each, dear) for each in np.unique(SCORE))
    assert cuts[5.0] >= cuts[1.0]


@pytest.mark.parametrize("rule", ["intersection", "logistic", "least_loss"])
def test_resampled_groups_begin_with_the_sample(rule: str) -> None:
    """With every candidate drawn once, a resample's cut is that of the sample, by each rule and middle."""
    counts = np.ones((1, 40))
    who = ONE_STATION["candidate"]
    drawn = bootstrap_contrasting(SCORE, GRADE >= 2, candidate=who, counts=counts, rule=rule)  # type: ignore[arg-type]
    found = contrasting_groups(SCORE, GRADE >= 2, rule=rule)  # type: ignore[arg-type]
    assert drawn[0] == pytest.approx(found.cut, abs=1e-9)
    middles: tuple[Literal["mean", "median"], ...] = ("mean", "median")
    for middle in middles:
        group = GRADE == 2
        drawn = bootstrap_borderline_group(SCORE[group], candidate=who[group], counts=counts, middle=middle)
        expected = borderline_group(SCORE, GRADE, borderline=2, middle=middle).cut
        assert drawn[0] == pytest.approx(expected, abs=1e-9)


def test_angoff_as_recorded() -> None:
    """Cut, errors, components and ICC equal R; SD/sqrt(n) is what the components give."""
    found = angoff(ESTIMATES, worth=ESTIMATES.max_mark)
    assert found.cut == pytest.approx(60.58333, abs=5e-6)
    assert np.std(found.judge_cuts, ddof=1) == pytest.approx(5.06376, abs=5e-6)
    assert found.se == pytest.approx(2.067271, abs=5e-7)
    assert found.se_items_random == pytest.approx(4.199592, abs=5e-7)
    assert found.variance_item == pytest.approx(133.6296, abs=5e-5)
    assert found.variance_judge == pytest.approx(25.16667, abs=5e-6)
    assert found.variance_residual == pytest.approx(4.75, abs=1e-9)
    assert np.sqrt((found.variance_judge + found.variance_residual / 10) / 6) == pytest.approx(found.se)
    assert found.icc_mean is not None
    assert found.icc_mean.estimate == pytest.approx(0.9640293, abs=5e-8)
    assert sum(found.severity) == pytest.approx(0, abs=1e-9)
    assert min(found.without) < found.cut < max(found.without)


def test_estimates_that_do_not_fit_are_refused_together() -> None:
    """A share above 1, a short row and a missing maximum are all named at once."""
    with pytest.raises(InputError) as refusal:
        Estimates(judges=("a", "b"), items=("x", "y"), share=((0.5, 1.5), (0.5,)), max_mark=(1.0,))
    assert {p.place for p in refusal.value.problems} == {"max_mark", "a.y", "b"}


def test_hofstee_as_recorded() -> None:
    """The cut lies on the jump at 53.33 %: 17.5 % fail below it, 25 % just above; R's grid says 53.334."""
    found = hofstee(SCORE * 100 / 30, [HOFSTEE])
    assert found.cut == pytest.approx(53.334, abs=0.001)
    assert (found.fails, found.fails_above) == (0.175, 0.25)
    assert CohortFlag.ON_A_JUMP in found.flags
    percent = SCORE * 100 / 30
    assert ((percent < 50).mean(), (percent < 65).mean()) == (0.125, 0.475)


@given(
    arrays(np.float64, 60, elements=st.integers(20, 100).map(float)),
    st.floats(30, 60),
    st.floats(0, 25),
    st.floats(0, 0.3),
    st.floats(0, 0.4),
)
def test_hofstee_never_leaves_its_bounds(
    score: np.ndarray, low: float, wide: float, least: float, more: float
) -> None:
    """The cut stays within the acceptable cuts; unflagged, its step of failures reaches across the line."""
    bounds = Bounds(lowest_cut=low, highest_cut=low + wide, least_fails=least, most_fails=least + more)
    found = hofstee(score, [bounds])
    assert low - 1e-9 <= found.cut <= low + wide + 1e-9
    if not {CohortFlag.FAILS_EXCEED, CohortFlag.FAILS_BELOW} & set(found.flags) and wide > 1e-6:
        line = least + more - more * (found.cut - low) / wide
        assert found.fails <= line + 1e-9
        assert found.fails_above >= line - 1e-9


def test_hofstee_says_so_when_curve_and_line_do_not_meet() -> None:
    """Too many fail at the lowest cut, or too few at the highest: that bound and a flag, nothing beyond."""
    score = np.linspace(40, 90, 100)
    exceeding = Bounds(lowest_cut=80, highest_cut=85, least_fails=0, most_fails=0.1)
    found = hofstee(score, [exceeding])
    assert (found.cut, found.flags[0]) == (80, CohortFlag.FAILS_EXCEED)
    below = Bounds(lowest_cut=30, highest_cut=35, least_fails=0.2, most_fails=0.3)
    found = hofstee(score, [below])
    assert (found.cut, found.flags[0]) == (35, CohortFlag.FAILS_BELOW)
    with pytest.raises(InputError, match="highest cut"):
        hofstee(score, [Bounds(lowest_cut=50, highest_cut=40, least_fails=0.3, most_fails=0.2)])


def test_cohen_as_printed() -> None:
    """30 items of five options, guessing 6, best 24: 16.8; the modified form repeats a trusted cut."""
    assert cohen(np.full(60, 24.0), guessing=6).cut == pytest.approx(16.8)
    scores = np.linspace(40, 95, 80)
    share = 55 / float(np.percentile(scores, 90))
    assert cohen(scores, share=share, percentile=90).cut == pytest.approx(55)
    assert CohortFlag.SMALL_COHORT in cohen(scores[:30]).flags


def test_cohen_interpolates_the_percentile() -> None:
    """In a small cohort the percentile falls between two candidates: 0.8 of the way from 70 to 90."""
    assert cohen(np.array([40.0, 55, 60, 70, 90])).cut == pytest.approx(0.6 * 86)
