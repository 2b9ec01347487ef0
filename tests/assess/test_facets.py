"""Many-facet Rasch estimates against other programs' output and R."""

import re
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from fabella.assess.facets_fit import fits, separation
from fabella.assess.facets_measures import RaschFit
from fabella.assess.facets_rasch import rasch
from fabella.assess.facets_ratings import Ratings, cumulated, log_probabilities, ratings
from fabella.errors import InputError
from tests.assess.worked_tables import table
from tests.reference import run_r

ESSAYS, YES_NO = "mfrm_essays_ptam4.csv", "mfrm_dichotomous_ex10.csv"


def long(name: str) -> tuple[list[float], dict[str, list[int]]]:
    """Return the marks of a table in long form with candidate, item and rater."""
    mark: list[float] = []
    codes: dict[str, list[int]] = {"candidate": [], "item": [], "rater": []}
    for row in table(name):
        for item, cell in enumerate(row[2:]):
            if cell not in {"", "NA"}:
                mark.append(float(cell))
                for key, value in zip(codes, (int(row[0]), item, int(row[1])), strict=True):
                    codes[key].append(value)
    return mark, codes


def fitted(name: str, **options: object) -> RaschFit:
    """Return the analysis of a table by item and rater."""
    mark, codes = long(name)
    facets = {"item": codes["item"], "rater": codes["rater"]}
    return rasch(mark, candidate=codes["candidate"], facets=facets, **options)  # type: ignore[arg-type]


def test_marginal_estimates_of_yes_and_no_marks() -> None:
    """Marginal estimates of 0/1 marks agree with R TAM 4.3-25 (tam.mml.mfr, ~item+rater).

    There abilities have mean 0 and items are free, so the mean ability is taken off ours.
    """
    found = fitted(YES_NO, correction=False)
    items = found.of("item").estimate - found.mean
    assert items == pytest.approx([-1.957141, -1.026813, -0.0684195, 1.061349, 1.984777], abs=2e-4)
    assert found.of("rater").estimate == pytest.approx([-0.0584037, -0.4567307, 0.5151343], abs=5e-5)
    assert found.spread**2 == pytest.approx(1.783127, abs=1e-3)
    assert found.deviance == pytest.approx(3534.359, abs=0.005)
    assert found.reliability == pytest.approx(0.6643, abs=1e-3)


def test_marginal_estimates_of_essays() -> None:
    """Marginal estimates of 592 essay ratings, 0 to 3, agree with R TAM 4.3-25 (~item+rater+step)."""
    found = fitted(ESSAYS, correction=False)
    items = found.of("item").estimate - found.mean
    assert items == pytest.approx([0.1559979, -0.3581069, -0.1328125], abs=1e-4)
    theirs = [-0.0376006, 0.8954157, -0.1173007, 0.02032, -0.2213258, 0.1207641, 0.1130072, 0.5123165]
    theirs += [-1.2460094, -0.039587]
    assert found.of("rater").estimate == pytest.approx(theirs, abs=5e-4)
    assert found.thresholds[0] == pytest.approx([-2.6107178, 0.0251421, 2.5855757], abs=2e-4)
    assert found.spread**2 == pytest.approx(2.707355, abs=1e-3)
    assert found.deviance == pytest.approx(3450.646, abs=0.005)
    assert found.reliability == pytest.approx(0.79199, abs=1e-3)
    apart = separation(found.weighted, found.weighted_se)
    assert apart.spread**2 / (apart.spread**2 + apart.error**2) == pytest.approx(0.74811, abs=2e-3)


IN_LME4 = """
d <- read.csv("{path}")
d$item <- factor(d$item); d$rater <- factor(d$rater)
contrasts(d$rater) <- contr.sum(nlevels(d$rater)); contrasts(d$item) <- contr.sum(nlevels(d$item))
m <- glmer(x ~ item + rater + (1 | candidate), d, family = binomial, nAGQ = 15)
cat(sprintf("%.8g", c(-fixef(m)[-1], sqrt(diag(as.matrix(vcov(m))))[-1], fixef(m)[1],
  VarCorr(m)$candidate[1])), "\\n")
"""


def test_marginal_estimates_and_errors_equal_a_logistic_mixed_model(tmp_path: Path) -> None:
    """For 0/1 marks the model is lme4's logistic mixed model: estimates and standard errors agree.

    The first 100 candidates, for lme4 takes long.
    """
    mark, codes = long(YES_NO)
    first = [n for n, candidate in enumerate(codes["candidate"]) if candidate <= 100]
    mark, codes = [mark[n] for n in first], {name: [code[n] for n in first] for name, code in codes.items()}
    lines = [
        "x,candidate,item,rater",
        *(",".join(map(str, r)) for r in zip(mark, *codes.values(), strict=True)),
    ]
    path = tmp_path / "marks.csv"
    path.write_text("\n".join(lines), encoding="utf-8")
    theirs = [float(v) for v in run_r(IN_LME4.format(path=path), "lme4").split()]
    facets = {"item": codes["item"], "rater": codes["rater"]}
    found = rasch(mark, candidate=codes["candidate"], facets=facets, correction=False)
    items, raters = found.of("item"), found.of("rater")
    ours = [*items.estimate[:4], *raters.estimate[:2], *items.se[:4], *raters.se[:2]]
    assert ours == pytest.approx(theirs[:12], abs=5e-4)
    assert (found.mean, found.spread**2) == pytest.approx(theirs[12:], abs=2e-3)


IN_ERM = """
m <- RSM(rsmdat); pp <- person.parameter(m); f <- itemfit(pp); g <- personfit(pp)
t <- thresholds(m)$threshtable[[1]]
keep <- !is.na(pp$theta.table[, 1]) & !pp$theta.table[, "Interpolated"]
out <- function(name, v) cat(name, sprintf("%.8g", v), "\\n")
out("data", as.vector(t(rsmdat[keep, ]))); out("theta", pp$theta.table[keep, 1]); out("location", t[, 1])
out("steps", t[1, -1] - t[1, 1])
out("infit", f$i.infitMSQ); out("outfit", f$i.outfitMSQ)
out("person_infit", g$p.infitMSQ); out("person_outfit", g$p.outfitMSQ)
"""


def test_fit_statistics_agree_with_erm() -> None:
    """Infit and outfit equal those of R eRm at its own parameters."""
    printed = run_r(IN_ERM, "eRm")
    theirs = {
        line.split()[0]: np.array([float(v) for v in line.split()[1:]])
        for line in printed.splitlines()
        if re.match(r"[a-z_]+ -?\d", line)
    }
    category = theirs["data"].astype(np.intp)
    person, item = (code.ravel() for code in np.indices((len(theirs["theta"]), len(theirs["location"]))))
    data = Ratings(
        category=category,
        candidate=person,
        facets=("item",),
        codes=(item,),
        scale=np.zeros(len(item), dtype=np.intp),
        marks=np.arange(len(theirs["steps"]) + 1.0)[None],
        closed=(),
    )
    persons, items = fits(data, theirs["theta"], theirs["location"], theirs["steps"][None])
    for name in ("infit", "outfit"):
        assert getattr(items, name) == pytest.approx(theirs[name], abs=2e-5), name
    assert persons.infit == pytest.approx(theirs["person_infit"], abs=2e-5)
    assert persons.outfit == pytest.approx(theirs["person_outfit"], abs=2e-5)


Codes = NDArray[np.intp]


def exam(
    rng: np.random.Generator, *, candidates: int = 60, stations: int = 8, circuits: int = 1
) -> tuple[Codes, Codes, Codes, Codes]:
    """Return marks 0 to 4, candidate, station and examiner; each circuit has a staff of its own."""
    p, s = (code.ravel() for code in np.indices((candidates, stations)))
    r = (p % circuits) * stations + (s + p // circuits) % stations
    place = rng.normal(0.3, 1, candidates)[p] - rng.normal(0, 0.5, stations)[s]
    place -= rng.normal(0, 0.5, stations * circuits)[r]
    sums = cumulated(np.array([[-1.5, -0.5, 0.5, 1.5]]), np.array([4])).T
    chance = np.exp(log_probabilities(place, sums)).cumsum(axis=0)
    return (rng.random(len(p)) > chance).sum(axis=0), p, s, r


def test_circuits_without_a_link_are_refused_by_name() -> None:
    """Circuits share stations and no candidate or examiner: a graph calls them joined, the rank does not."""
    mark, p, s, r = exam(np.random.default_rng(1), circuits=2)
    names = {"examiner": [f"E{n + 1}" for n in range(16)]}
    with pytest.raises(InputError) as raised:
        rasch(mark, candidate=p, facets={"station": s, "examiner": r}, names=names)
    (problem,) = raised.value.problems
    assert problem.place == "examiners"
    assert "share no candidates, directly or through others" in problem.says
    assert "let some candidates be marked by two groups" in problem.remedy
    assert problem.value == "E1, E2, E3, E4, E5, E6 and 2 more | E9, E10, E11, E12, E13, E14 and 2 more"


def test_the_groups_named_are_those_who_share_no_candidates() -> None:
    """Two circuits, at one station of which somebody takes over: two staffs, not as many as ranks part.

    Only within a station are examiners compared there, so that the rank parts the station with three of them
    from the others; what a lead can mend is that the two staffs never meet a candidate together.
    """
    mark, p, s, _ = exam(np.random.default_rng(1), circuits=2)
    r = np.where((s == 0) & (p % 2 == 0) & (p >= 30), 16, s + 8 * (p % 2))
    names = {"examiner": [f"E{n + 1}" for n in range(17)]}
    with pytest.raises(InputError) as raised:
        rasch(mark, candidate=p, facets={"station": s, "examiner": r}, centred={"examiner": s}, names=names)
    problem = raised.value.problems[0]
    assert "are 2 groups that share no candidates" in problem.says
    first, second = problem.value.split(" | ")
    assert first == "E1, E2, E3, E4, E5, E6 and 3 more"
    assert second == "E9, E10, E11, E12, E13, E14 and 2 more"


def test_circuits_of_candidates_allotted_at_random_can_be_compared() -> None:
    """Declared alike, the same circuits are analysed, with a warning that says on what it rests."""
    mark, p, s, r = exam(np.random.default_rng(1), circuits=2)
    found = rasch(mark, candidate=p, facets={"station": s, "examiner": r}, alike=True)
    assert any("at random" in warning for warning in found.warnings)
    assert float(found.of("examiner").estimate.sum()) == pytest.approx(0, abs=1e-9)


def test_examiners_of_one_station_are_centred_within_it() -> None:
    """Examiners who keep to a station have no severity beside its difficulty unless centred within it."""
    rng = np.random.default_rng(2)
    mark, p, s, _ = exam(rng)
    r = s * 3 + rng.integers(0, 3, len(s))
    with pytest.raises(InputError, match="cannot be compared"):
        rasch(mark, candidate=p, facets={"station": s, "examiner": r})
    found = rasch(mark, candidate=p, facets={"station": s, "examiner": r}, centred={"examiner": s})
    assert found.of("examiner").estimate.reshape(8, 3).sum(axis=1) == pytest.approx(np.zeros(8), abs=1e-9)


def test_stations_may_have_scales_of_their_own() -> None:
    """With thresholds for each station, every scale's thresholds sum to 0 and the deviance falls."""
    mark, p, s, r = exam(np.random.default_rng(3), candidates=200)
    facets = {"station": s, "examiner": r}
    one = rasch(mark, candidate=p, facets=facets)
    own = rasch(mark, candidate=p, facets=facets, scale=s)
    assert own.thresholds.shape == (8, 4)
    assert own.thresholds.sum(axis=1) == pytest.approx(np.zeros(8), abs=1e-9)
    assert 0 < one.deviance - own.deviance < 60  # 21 more parameters, none of them needed


def test_few_marks_lie_too_far_apart_and_are_drawn_together() -> None:
    """With 15 marks an examiner, severities lie 15 % too far apart and less than 5 % once corrected.

    The slope of estimates on truth, over 100 exams; the spread of abilities (1) is mended as well.
    """
    dice = np.random.default_rng(11)
    slopes, spreads = [], []
    for _ in range(100):
        p, s = (code.ravel() for code in np.indices((30, 6)))
        r = (s + p) % 12
        severe = dice.normal(0, 0.5, 12)
        place = dice.normal(0.3, 1, 30)[p] - dice.normal(0, 0.5, 6)[s] - severe[r]
        sums = cumulated(np.array([[-1.5, -0.5, 0.5, 1.5]]), np.array([4])).T
        mark = (dice.random(len(p)) > np.exp(log_probabilities(place, sums)).cumsum(axis=0)).sum(axis=0)
        truth = severe - severe.mean()
        found = [
            rasch(mark, candidate=p, facets={"station": s, "examiner": r}, correction=correction)
            for correction in (False, True)
        ]
        slopes.append([each.of("examiner").estimate @ truth / (truth @ truth) for each in found])
        spreads.append([each.spread for each in found])
    plain, drawn = np.mean(slopes, axis=0)
    assert plain > 1.1
    assert drawn == pytest.approx(1, abs=0.05)
    assert np.mean(spreads, axis=0)[1] == pytest.approx(1, abs=0.06)


def test_many_marks_are_hardly_drawn_together() -> None:
    """With 400 candidates the correction moves nothing by a tenth of its standard error's size."""
    mark, p, s, r = exam(np.random.default_rng(12), candidates=400)
    facets = {"station": s, "examiner": r}
    plain, drawn = (
        rasch(mark, candidate=p, facets=facets, correction=c).of("examiner") for c in (False, True)
    )
    assert np.abs(plain.estimate - drawn.estimate).max() < 0.15 * plain.se.min()
    assert drawn.se == pytest.approx(plain.se, rel=0.02)


def test_order_of_rows_does_not_matter() -> None:
    """Shuffled rows give the same measures."""
    mark, p, s, r = exam(np.random.default_rng(4))
    mix = np.random.default_rng(5).permutation(len(mark))
    one = rasch(mark, candidate=p, facets={"station": s, "examiner": r})
    two = rasch(mark[mix], candidate=p[mix], facets={"station": s[mix], "examiner": r[mix]})
    assert one.candidates.estimate == pytest.approx(two.candidates.estimate, abs=1e-8)


def test_fair_marks_ask_what_an_average_examiner_would_give() -> None:
    """At the mean of the facets the fair mark is the model's expectation, computed here by hand."""
    mark, p, s, r = exam(np.random.default_rng(6))
    found = rasch(mark, candidate=p, facets={"station": s, "examiner": r})
    tau = found.thresholds[0]
    theta = found.candidates.estimate[7]
    weight = np.exp([x * theta - tau[:x].sum() for x in range(5)])
    assert found.candidates.fair[7] == pytest.approx(float(weight @ np.arange(5) / weight.sum()), abs=1e-12)
    severe = found.of("examiner")
    assert np.argmax(severe.estimate) == np.argmin(severe.fair)


def test_separation_is_true_spread_over_error() -> None:
    """Measures that vary by 5, of which errors of 1 are 1, make a spread of 2 and a separation of 2."""
    estimate = (
        np.array([-np.sqrt(5), np.sqrt(5), -np.sqrt(5), np.sqrt(5), 0, 0, 0, 0, 0]) * np.sqrt(8 / 4) / 1
    )
    found = separation(estimate, np.ones(9))
    assert (found.spread, found.separation) == pytest.approx((2, 2))


def test_what_cannot_be_analysed_is_refused() -> None:
    """One mark for all, an unknown facet to centre in, an examiner with nothing: each is told."""
    mark, p, s, r = exam(np.random.default_rng(7))
    facets = {"station": s, "examiner": r}
    with pytest.raises(InputError, match="different marks only"):
        rasch(np.ones(len(p)), candidate=p, facets=facets)
    with pytest.raises(InputError, match="did you mean 'examiner'"):
        rasch(mark, candidate=p, facets=facets, centred={"examiners": s})
    with pytest.raises(InputError, match="does not keep to one group"):
        rasch(mark, candidate=p, facets=facets, centred={"examiner": s})
    with pytest.raises(InputError, match="nothing or everything"):
        rasch(np.where(r == 2, 0, mark), candidate=p, facets=facets)


def test_marks_never_given_close_the_scale_and_say_so() -> None:
    """When nobody got a 2, the scale 0, 1, 3, 4 is analysed as four categories, with a warning."""
    mark, p, s, r = exam(np.random.default_rng(8), candidates=120)
    kept = mark != 2
    found = rasch(mark[kept], candidate=p[kept], facets={"station": s[kept], "examiner": r[kept]})
    assert found.thresholds.shape == (1, 3)
    assert any("closed up" in warning for warning in found.warnings)
    assert isinstance(ratings(mark, candidate=p, facets={"station": s}), Ratings)
