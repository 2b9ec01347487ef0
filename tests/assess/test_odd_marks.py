"""Odd but legitimate marks: the right number, the right interval, or a refusal in words."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.linalg import hadamard

from fabella.assess import (
    Blueprint,
    CutMethod,
    Estimates,
    Item,
    Marks,
    Rules,
    Station,
    analyse,
    analysis_tree,
    angoff,
    decide,
    read_marks,
)
from fabella.assess.borderline_regression import LineFlag, fit_line
from fabella.assess.classical import alpha
from fabella.assess.classification import livingston_lewis
from fabella.assess.dependable import generalizability
from fabella.assess.dstudy import as_marked, phi_at_cut
from fabella.assess.exam_facets import exam_facets
from fabella.assess.facets_rasch import rasch
from fabella.assess.gstudy_anova import anova
from fabella.assess.gstudy_predict import prediction_error
from fabella.assess.severity import severity
from fabella.assess.spread import spread
from fabella.errors import InputError
from tests.assess.by_henderson import parse_design
from tests.assess.made import HEADER, made_blueprint, made_marks, made_rows, read_rows
from tests.reference import run_r


def test_one_score_of_each_candidate_tells_nothing_of_reliability() -> None:
    """With one station and one examiner each, what candidates can do is not parted from error: no G, no Phi.

    Brennan 2001 Generalizability Theory, section 2.1 (from memory): with one observation of a person the
    residual is all there is. It had been taken for true differences, so that G and Phi were 1.
    """
    dice = np.random.default_rng(1)
    person = np.arange(40)
    codes = {"candidate": person, "station": 0 * person, "circuit": 0 * person, "examiner": person % 4}
    with pytest.raises(InputError, match="too few scores"):
        generalizability(dice.normal(60, 10, 40), codes, cut=50.0)
    codes["station"], codes["examiner"] = person % 3, person % 3  # each candidate at one of three
    with pytest.raises(InputError, match="too few scores"):
        generalizability(dice.normal(60, 10, 40), codes, cut=50.0)


def test_candidates_who_are_what_two_facets_make_together_are_still_candidates() -> None:
    """Twelve candidates, one at each station of each circuit with two examiners: no other facet stands in."""
    dice = np.random.default_rng(2)
    person = np.repeat(np.arange(12), 2)
    codes = {
        "candidate": person,
        "station": person // 3,
        "circuit": person % 3,
        "examiner": np.tile([0, 1], 12),
    }
    with pytest.raises(InputError, match="candidates"):
        generalizability(dice.normal(60, 10, 24), codes, cut=50.0)


def parts_of_unequal_length() -> tuple[np.ndarray, np.ndarray]:
    """Return scores of three stations with 1, 2 and 5 units of one kind, and these numbers.

    Variances are exact: of true scores 9, of the error of one unit 16, both times 8/7.
    """
    true, *errors = np.array(hadamard(8), dtype=np.float64)[1:5]
    units = np.array([1.0, 2.0, 5.0])
    return 50 + 3 * true[:, None] + np.stack(errors, axis=1) * np.sqrt(16 / units), units


def test_reliability_of_stations_that_count_differently_is_rajus() -> None:
    """Of parts of different length Raju's coefficient is what Spearman and Brown give for the whole.

    Raju 1977 Psychometrika 42:549-565 (from memory). One unit has a reliability of 9/25, eight of them
    8 * .36 / (1 + 7 * .36) = 9/11, and the error variance of the whole is 16/8 (times 8/7 by n - 1).
    """
    scores, units = parts_of_unequal_length()
    found = alpha(scores, weights=units)
    assert found.alpha.estimate == pytest.approx(9 / 11, abs=1e-12)
    assert np.isnan(found.alpha.low)  # Feldt's interval is one of parts that count alike
    assert found.sem == pytest.approx(np.sqrt(2 * 8 / 7), abs=1e-12)
    # without the largest station three units are left
    assert found.if_deleted[2] == pytest.approx(3 * 0.36 / (1 + 2 * 0.36), abs=1e-12)
    assert alpha(scores).alpha.estimate < 0.8  # counted alike the whole is a worse one


def test_the_error_added_to_a_pass_mark_is_that_of_the_score_decided_on() -> None:
    """One station that counts for half of the exam makes its score less sure; the SEM follows.

    By formula: errors of 10 at each of six stations with weights .1 (five times) and .5 make
    10 sqrt(5 * .1^2 + .5^2) = 5.48 for the whole, 10 / sqrt(6) = 4.08 if they counted alike.
    """
    dice = np.random.default_rng(3)
    stations = tuple(
        Station(code=f"S{n}", items=(Item(code="x", max_mark=100),), weight=5 if n == 5 else 1)
        for n in range(6)
    )
    scores = 50 + 6 * dice.normal(size=(4000, 1)) + 10 * dice.normal(size=(4000, 6))
    rows = [f"C{p:04},A,S{s},E{s},x,{scores[p, s].clip(0, 100):.3f},1" for p in range(4000) for s in range(6)]
    rules = Rules(method=CutMethod.FIXED, fixed_cut=45.0, resamples=200)
    marks = read_marks("\n".join([HEADER, *rows, ""]), blueprint=Blueprint(stations=stations))
    assert decide(marks, rules).sem == pytest.approx(5.48, rel=0.03)
    alike = Blueprint(stations=tuple(replace(each, weight=1.0) for each in stations))
    assert decide(replace(marks, blueprint=alike), rules).sem == pytest.approx(4.08, rel=0.03)


def test_dependability_of_a_weighted_score_follows_the_weights() -> None:
    """An effect that each station brings anew is carried with the sum of squared weights.

    Brennan 2001 Generalizability Theory, section 10.1 (composites with nominal weights; from memory).
    """
    dice = np.random.default_rng(4)
    person, item = (code.ravel() for code in np.indices((50, 4)))
    score = 60 + 5 * dice.normal(size=50)[person] + 3 * dice.normal(size=4)[item] + 8 * dice.normal(size=200)
    codes, design = {"p": person, "i": item}, parse_design("p x i")
    parts = anova(score, codes, design=design).components
    weight = np.array([1.0, 1.0, 1.0, 5.0])
    share = weight / weight.sum()
    found = as_marked(parts, design=design, codes=codes, weight=weight[item])
    assert found.true == pytest.approx(parts.of("p").variance)
    assert found.relative == pytest.approx(parts.of("p*i").variance * (share**2).sum())
    of_items = parts.of("i").used * (share**2).sum()
    assert found.absolute == pytest.approx(found.relative + of_items)
    mean = float((score.reshape(50, 4) @ share).mean())
    at_cut = phi_at_cut(parts, found, cut=50, design=design, codes=codes, mean=mean, weight=weight[item])
    error = parts.of("p").variance / 50 + of_items + found.relative / 50
    signal = found.true + (mean - 50) ** 2 - error
    assert at_cut == pytest.approx(signal / (signal + found.absolute))


def with_marks(marks: Marks, changed: dict[int, float]) -> Marks:
    """Return marks in which every mark of some items, by their place in the exam, is one number."""
    mark = marks.mark.copy()
    for item, value in changed.items():
        mark[marks.item == item] = value
    return replace(marks, mark=mark)


def test_an_item_that_everybody_had_costs_no_rasch_analysis() -> None:
    """Items with everything or nothing are left out and named, and all else stays as without them.

    So does R eRm ("items excluded due to complete 0/full responses"): as the difficulty goes to its limit,
    such marks become certain and drop out of any likelihood.
    """
    marks = made_marks(circuits=1, candidates=40, items=4, stations=3)
    whole = exam_facets(with_marks(marks, {1: 2.0, 7: 0.0}))
    assert any("S01/I02, S02/I04" in says for says in whole.fit.warnings)
    assert len(whole.items) == 10
    left = marks.blueprint.stations
    short = Blueprint(
        stations=(
            replace(left[0], items=(left[0].items[0], *left[0].items[2:])),
            replace(left[1], items=left[1].items[:3]),
            left[2],
        )
    )
    rows = made_rows(marks.blueprint, candidates=40, circuits=1)
    kept = [row for row in rows if ",S01,E01,I02," not in row and ",S02,E02,I04," not in row]
    without = exam_facets(read_rows(kept, short))
    assert whole.items == without.items
    for name in ("candidate", "station", "item"):
        assert whole.fit.of(name).estimate == pytest.approx(without.fit.of(name).estimate, abs=1e-9)
    assert not any("left out" in says for says in without.fit.warnings)


def test_an_examiner_who_gave_everybody_everything_is_left_out_by_name() -> None:
    """The severity of one who gave nothing but full marks has no finite estimate; the others are compared."""
    dice = np.random.default_rng(5)
    blueprint = made_blueprint(stations=3, items=4)
    rows = []
    for p in range(60):
        for s, station in enumerate(blueprint.stations):
            e = (p + s) % 5
            chance = 1 / (1 + np.exp(-dice.normal()))
            for item in station.items:
                mark = 2 if e == 4 else dice.binomial(2, chance)
                rows.append(f"C{p:03},A,{station.code},E{e},{item.code},{mark},2")
    marks = read_rows(rows, blueprint)
    found = exam_facets(marks)
    assert found.examiners == ("E0", "E1", "E2", "E3")
    assert any(says.endswith("examiner E4") for says in found.fit.warnings)
    analysis = analyse(marks, Rules(method=CutMethod.FIXED, fixed_cut=50.0, resamples=200))
    assert analysis.facets.basis.dropped == int((marks.examiner[marks.sheet] == 4).sum())
    assert analysis_tree(marks, analysis)["facets"]["value"]["warnings"] == list(found.fit.warnings)


def test_a_level_with_everything_is_refused_by_its_number() -> None:
    """The likelihood has no maximum then, and the refusal says of what."""
    dice = np.random.default_rng(6)
    person, item = (code.ravel() for code in np.indices((30, 5)))
    mark = np.where(item == 3, 1, dice.integers(0, 2, 150))
    with pytest.raises(InputError, match="item: '3' has nothing or everything") as refusal:
        rasch(mark, candidate=person, facets={"item": item})
    assert "likelihood" not in str(refusal.value)


def test_few_marks_that_are_the_same_by_chance_name_no_examiner() -> None:
    """Examiners who give grades by the same dice are not said to mark all alike, however few they marked.

    The chance that two sheets bear the same of these grades is .02^2 + .08^2 + .2^2 + .65^2 + .05^2 = .47,
    where the F test, made for numbers without steps, finds 0.
    """
    shares = [0.02, 0.08, 0.2, 0.65, 0.05]
    dice = np.random.default_rng(7)
    named = 0
    for n in (2, 3, 10):
        examiner = np.repeat(np.arange(24), n)
        for _ in range(20):
            grade = dice.choice(5, p=shares, size=len(examiner)).astype(float)
            named += len(spread(grade, station=examiner % 4, examiner=examiner).alike)
    assert named <= 3  # of 1,440 examiners
    grade = dice.choice(5, p=shares, size=24 * 2).astype(float)
    grade[:2] = 3.0
    found = spread(grade, station=np.zeros(48), examiner=np.repeat(np.arange(24), 2))
    assert found.p[0] > 0.3  # drawn twice from two marks of others, more often alike yet


def test_many_marks_that_are_the_same_name_the_examiner() -> None:
    """Sixty sheets of one grade are no chance where others spread theirs."""
    dice = np.random.default_rng(8)
    examiner = np.repeat(np.arange(12), 60)
    grade = dice.choice(5, p=[0.05, 0.2, 0.3, 0.35, 0.1], size=720).astype(float)
    grade[examiner == 5] = 3.0
    assert spread(grade, station=examiner % 3, examiner=examiner).alike.tolist() == [5]


def small_exam(seed: int) -> tuple[np.ndarray, dict[str, np.ndarray], np.ndarray]:
    """Return scores of 12 candidates at 8 stations with two examiners each, their codes, and severities."""
    dice = np.random.default_rng(seed)
    person, station = (code.ravel() for code in np.indices((12, 8)))
    examiner = 2 * station + (person + dice.integers(0, 2)) % 2
    severe = dice.normal(0, 4, 16)
    score = 60 + dice.normal(0, 6, 12)[person] + dice.normal(0, 4, 8)[station] - severe[examiner]
    codes = {"candidate": person, "station": station, "examiner": examiner}
    return score + dice.normal(0, 9, 96), codes, severe


def test_intervals_of_severity_hold_where_examiners_outnumber_candidates() -> None:
    """Of 90 % intervals of severity some 90 % hold the truth, and no error is 0, in 60 simulated exams.

    With the variance of examiners taken as known, they held it in 70 %, and in each eighth exam all errors
    were 0, the variance having been estimated as 0.
    """
    held = []
    for seed in range(60):
        score, codes, severe = small_exam(seed)
        found = severity(score, **codes)
        low, high = found.limits(0.9)
        assert (found.se > 0.5).all()
        held += ((low < severe) & (severe < high)).tolist()
    assert 0.84 <= np.mean(held) <= 0.95


def test_what_is_eliminated_does_not_change_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    """Errors of severity are the same whether candidates' equations are eliminated first or nothing is."""
    dice = np.random.default_rng(9)
    person, station = (code.ravel() for code in np.indices((40, 4)))
    codes = {"candidate": person, "station": station, "examiner": 3 * station + (person + station) % 3}
    score = 60 + dice.normal(0, 6, 40)[person] + dice.normal(0, 4, 12)[codes["examiner"]]
    score += dice.normal(0, 9, 160)
    eliminated = severity(score, **codes)
    assert not eliminated.model.profile.equations.is_inner[2]
    monkeypatch.setattr(eliminated.model.profile.equations, "is_inner", [True, True, True])
    whole = prediction_error(eliminated.model, "examiner:station")
    assert whole == pytest.approx(eliminated.se, rel=1e-3)


def test_two_examiners_are_too_few_for_a_severity() -> None:
    """The spread of two allows any variance: errors of hundreds of percent had been told; three have one."""
    dice = np.random.default_rng(10)
    person, station = (code.ravel() for code in np.indices((30, 4)))
    score = 60 + dice.normal(0, 6, 30)[person] + dice.normal(0, 9, 120)
    codes = {"candidate": person, "station": station}
    with pytest.raises(InputError, match="two only"):
        severity(score, **codes, examiner=(person + station) % 2)
    assert severity(score, **codes, examiner=(person + station) % 3).se.max() < 30


def test_one_station_with_several_examiners_has_severities() -> None:
    """One station is no random effect but the mean; its examiners can still be compared, as R lme4 does."""
    dice = np.random.default_rng(11)
    examiner = np.arange(60) % 5
    score = np.round(60 + dice.normal(0, 6, 5)[examiner] + dice.normal(0, 8, 60), 2)
    found = severity(score, candidate=np.arange(60), station=np.zeros(60), examiner=examiner)
    code = f"""
    y <- c({",".join(map(str, score))}); r <- factor(c({",".join(map(str, examiner))}))
    cat(format(-ranef(lmer(y ~ 1 + (1 | r)))$r[, 1], digits = 10), sep = "\\n")
    """
    theirs = [float(each) for each in run_r(code, "lme4").split()]
    assert found.severity == pytest.approx(theirs, abs=2e-3)


def test_a_pass_mark_beyond_the_scale_fails_everybody() -> None:
    """An allowance may carry the pass mark beyond 100 %: then nobody passes, rightly, and again so."""
    scores = np.random.default_rng(12).normal(80, 8, 60).clip(0, 100)
    found = livingston_lewis(scores, reliability=0.8, cut=101.0)
    assert (found.accuracy, found.false_pass, found.false_fail, found.consistency) == (1, 0, 0, 1)


def test_no_failure_among_few_does_not_promise_none() -> None:
    """Where nobody of 8 failed, up to 37 % of another such cohort may: the exact limit 1 - .025^(1/8).

    Clopper and Pearson 1934 Biometrika 26:404-413 (from memory).
    """
    marks = made_marks(stations=3, candidates=8, circuits=1)
    found = analyse(marks, Rules(method=CutMethod.FIXED, fixed_cut=1.0, resamples=200)).noise.failing
    assert (found.estimate, found.low) == (0, 0)
    assert found.high == pytest.approx(1 - 0.025 ** (1 / 8))


def test_few_judges_make_a_wide_interval() -> None:
    """The interval of Angoff's pass mark is R's t.test of the judges' pass marks, not that of the normal."""
    marks = made_marks(stations=3)
    share = ((0.50, 0.60, 0.55), (0.62, 0.66, 0.58), (0.57, 0.70, 0.66))
    estimates = Estimates(
        judges=("A", "B", "C"), items=marks.blueprint.station_codes, share=share, max_mark=(16, 16, 16)
    )
    cut = decide(marks, Rules(method=CutMethod.ANGOFF, estimates=(estimates,))).pass_mark.cut
    cuts = ", ".join(str(100 * sum(row) / 3) for row in share)
    low, high = map(float, run_r(f"cat(format(t.test(c({cuts}))$conf.int, digits = 12))").split())
    assert (cut.low, cut.high) == pytest.approx((low, high), abs=1e-8)


def test_items_of_unequal_worth_are_no_error_of_items() -> None:
    """Other items of the same worth move no pass mark if judges expect the same share of every item.

    Where they do not, the mean of p by w has the variance sum(w^2) var(p) / sum(w)^2 (textbook), of which
    judges leave over sum(w^2) MS_residual / judges / sum(w)^2.
    """
    worth = (1.0, 1.0, 20.0)

    def of(*share: tuple[float, ...]) -> tuple[float, float]:
        estimates = Estimates(judges=("a", "b"), items=("x", "y", "z"), share=share, max_mark=worth)
        found = angoff(estimates, worth=worth)
        return found.se, found.se_items_random

    se, whole = of((0.6, 0.6, 0.6), (0.5, 0.5, 0.5))
    assert whole == pytest.approx(se)
    se, whole = of((0.4, 0.5, 0.6), (0.5, 0.6, 0.7))  # judges agree on how items differ: var(p) = .01
    assert whole == pytest.approx(np.sqrt(se**2 + 100**2 * 402 / 22**2 * 0.01))


def test_a_judge_who_gives_every_item_the_same_has_no_consistency() -> None:
    """A correlation with what does not vary does not exist, also where its mean is not exact in binary."""
    estimates = Estimates(
        judges=("a", "b"), items=("x", "y", "z"), share=((0.7, 0.7, 0.7), (0.4, 0.5, 0.7)), max_mark=(1, 1, 1)
    )
    found = angoff(estimates, worth=(1, 1, 1), borderline=(0.5, 0.6, 0.8))
    assert np.isnan(found.consistency[0])
    assert found.consistency[1] == pytest.approx(np.corrcoef([0.4, 0.5, 0.7], [0.5, 0.6, 0.8])[0, 1])


def test_one_borderline_sheet_tells_of_no_error() -> None:
    """Where a station has one borderline sheet, its pass mark has an unknown error, which is not 0."""
    marks = made_marks(stations=3, candidates=30, circuits=1)
    grade = np.where(marks.grade == 1, 2.0, marks.grade)
    for s in range(3):
        grade[np.flatnonzero(marks.station == s)[:1]] = 1.0
    for middle in (CutMethod.BORDERLINE_GROUP_MEAN, CutMethod.BORDERLINE_GROUP_MEDIAN):
        results = decide(replace(marks, grade=grade), Rules(method=middle, resamples=200))
        assert np.isnan([results.pass_mark.se, results.pass_mark.cut.low, results.se_decision]).all()
        assert results.pass_mark.cut.estimate > 0


def test_grades_that_all_lie_below_borderline_are_extrapolated() -> None:
    """The line is carried beyond what was seen on either side of borderline."""
    score, grade = np.array([10.0, 20, 15, 18, 30, 25]), np.array([0.0, 1, 0, 0, 1, 1])
    scale = (0.0, 1.0, 2.0, 3.0, 4.0)
    assert LineFlag.EXTRAPOLATED in fit_line(score, grade, borderline=2, values=scale).flags
    assert LineFlag.EXTRAPOLATED in fit_line(score, grade + 3, borderline=2, values=scale).flags
    assert LineFlag.EXTRAPOLATED not in fit_line(score, grade * 4, borderline=2, values=scale).flags


@pytest.mark.parametrize("n", range(5, 60, 6))
def test_a_station_at_which_all_score_the_same_has_no_r2_and_no_score_below_its_own(n: int) -> None:
    """All have the same marks: the line is level, and its last bit told nothing of grades or of who is below.

    R2 is undefined where nothing varies (R's `summary.lm` warns of an "essentially perfect fit"). In one of
    ten such exams the pass mark had been called outside the scores, and R2 been the ratio of two roundings.
    """
    grade = (np.arange(n) % 5).astype(np.float64)
    for earned in range(1, 36):
        score = np.full(n, 100 * earned / 36)
        line = fit_line(score, grade, borderline=1.0, values=(0.0, 1.0, 2.0, 3.0, 4.0))
        assert np.isnan(line.r2)
        assert LineFlag.OUTSIDE_SCORES not in line.flags
        assert {each.grade for each in line.contradictions} == {0.0}  # at the pass mark, and graded below it


@pytest.mark.parametrize("step", [100 / 36, 100 / 7, 5.1])
def test_scores_on_one_line_contradict_no_grade(step: float) -> None:
    """Where each grade has one score the pass mark is that of borderline, which is not below itself."""
    grade = np.array([1.0, 1, 1, 2, 2, 3, 3, 4])
    for low in np.linspace(0, 40, 41):
        line = fit_line(low + step * grade, grade, borderline=1.0, values=(0.0, 1.0, 2.0, 3.0, 4.0))
        assert line.contradictions == ()
        assert LineFlag.OUTSIDE_SCORES not in line.flags
