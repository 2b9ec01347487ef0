"""Examiners, drift and circuits against R and against planted truth."""

import numpy as np
import pytest

from fabella.assess.circuits import circuit_effects
from fabella.assess.drift import drift
from fabella.assess.gstudy_design import Array, Codes
from fabella.assess.gstudy_detect import detect, g_study
from fabella.assess.severity import severity
from fabella.assess.spread import spread
from fabella.errors import InputError
from tests.reference import run_r


def exam(seed: int, *, candidates: int = 60) -> tuple[Array, Codes, Codes, Codes, Array]:
    """Return scores, candidate, station, examiner (three at each of 8 stations) and running order."""
    rng = np.random.default_rng(seed)
    p, s = (code.ravel() for code in np.indices((candidates, 8)))
    r = s * 3 + p % 3
    order = (p // 3).astype(np.float64)
    y = 60 + rng.normal(0, 5, candidates)[p] + rng.normal(0, 4, 8)[s] - rng.normal(0, 3, 24)[r]
    return y + rng.normal(0, 6, len(p)), p, s, r, order


IN_R = """
d <- read.csv(text = "{data}")
m <- lmer(y ~ 1 + {fixed} (1 | p) + {station} (1 | r), d, control = lmerControl(optimizer = "bobyqa",
  optCtrl = list(rhoend = 1e-9), calc.derivs = FALSE))
out <- function(name, v) cat(name, sprintf("%.8g", v), "\\n")
out("r", ranef(m)$r[order(as.integer(rownames(ranef(m)$r))), 1])
out("fixed", fixef(m)); out("se", sqrt(diag(as.matrix(vcov(m)))))
"""


def in_r(columns: dict[str, Array | Codes], fixed: str, station: str) -> dict[str, list[float]]:
    """Return predictions of examiners and fixed effects by R lme4."""
    lines = [",".join(columns)]
    lines += [",".join(f"{v:.6g}" for v in row) for row in zip(*columns.values(), strict=True)]
    printed = run_r(IN_R.format(data="\n".join(lines), fixed=fixed, station=station), "lme4")
    return {line.split()[0]: [float(v) for v in line.split()[1:]] for line in printed.splitlines()}


def test_severity_is_the_prediction_of_lme4_turned_round() -> None:
    """Severities equal lme4's predicted effects of examiners with the sign turned."""
    y, p, s, r, _ = exam(1, candidates=30)
    y = np.round(y, 2)
    found = severity(y, candidate=p, station=s, examiner=r)
    theirs = in_r({"y": y, "p": p, "s": s, "r": r}, "", "(1 | s) +")
    assert -found.severity == pytest.approx(theirs["r"], abs=2e-3)
    assert any("keep to one station" in warning for warning in found.warnings)


def test_circuits_with_a_staff_of_their_own_are_told() -> None:
    """Three staffs that share no candidates are named as such; examiners who take turns are not."""
    y, p, s, r, _ = exam(1, candidates=30)
    found = severity(y, candidate=p, station=s, examiner=r)
    assert any("3 groups of examiners share no candidates" in warning for warning in found.warnings)
    turning = s * 3 + (p + p // 3 * s) % 3
    found = severity(y, candidate=p, station=s, examiner=turning)
    assert not any("share no candidates" in warning for warning in found.warnings)


def test_severity_for_the_same_grade_is_that_of_lme4() -> None:
    """With grades, stations have intercepts and slopes of their own and severities equal lme4's."""
    y, p, s, r, _ = exam(2, candidates=30)
    y = np.round(y, 2)
    rng = np.random.default_rng(3)
    grade = np.clip(np.round((y - 40) / 10 + rng.normal(0, 0.5, len(y))), 0, 4)
    found = severity(y, candidate=p, station=s, examiner=r, grade=grade)
    theirs = in_r({"y": y, "p": p, "s": s, "r": r, "g": grade}, "factor(s) * g +", "")
    assert -found.severity == pytest.approx(theirs["r"], abs=5e-3)


def test_drift_and_its_error_are_those_of_lme4() -> None:
    """The slope on running order and its standard error equal lme4's."""
    y, p, s, r, order = exam(4, candidates=30)
    y = np.round(y + 0.3 * order, 2)
    late = order - order.mean()
    found = drift(y, candidate=p, station=s, examiner=r, order=order)
    theirs = in_r({"y": y, "p": p, "s": s, "r": r, "late": late}, "late +", "(1 | s) +")
    assert (found.drift.slope, found.drift.se) == pytest.approx(
        (theirs["fixed"][1], theirs["se"][1]), abs=2e-3
    )


def test_planted_drift_and_contrast_are_found_and_none_is_not() -> None:
    """Marks growing by 0.4 a candidate and pulled by half the previous candidate's standing are told so."""
    y, p, s, r, order = exam(5, candidates=120)
    quiet = drift(y, candidate=p, station=s, examiner=r, order=order)
    assert quiet.drift.p > 0.01
    assert quiet.contrast is not None
    assert quiet.contrast.p > 0.01
    standing = np.bincount(p, weights=y) / 8
    before = np.where(p >= 3, standing[p - 3] - standing.mean(), 0.0)
    planted = drift(y + 0.4 * order - 0.5 * before, candidate=p, station=s, examiner=r, order=order)
    assert planted.drift.slope == pytest.approx(0.4 + quiet.drift.slope, abs=0.05)
    assert planted.contrast is not None
    assert planted.contrast.slope == pytest.approx(-0.5, abs=0.2)
    one = drift(y + np.where(r == 7, 1.0, 0.0) * order, candidate=p, station=s, examiner=r, order=order)
    assert np.nanargmin(one.holm) == 7
    assert one.holm[7] < 0.01


def relieved_at_noon(seed: int, *, candidates: int) -> tuple[Array, Codes, Codes, Codes, Array]:
    """Return an exam of two circuits of four stations whose marks do not move through the day.

    One station of the first breaks down at noon; at one of the second another examiner takes over.
    """
    rng, noon = np.random.default_rng(seed), candidates // 2
    p, s = (code.ravel() for code in np.indices((candidates, 4)))
    r = 4 * (p % 2) + s
    r = np.where((r == 5) & (p >= noon), 8, r)
    y = 60 + rng.normal(0, 15, candidates)[p] - rng.normal(0, 4, 9)[r] + rng.normal(0, 12, len(p))
    held = (r != 2) | (p < noon)
    order = np.zeros(len(p))
    for each in range(9):
        order[r == each] = np.arange(1, (r == each).sum() + 1)
    return y[held], p[held], s[held], r[held], order[held]


@pytest.mark.parametrize("candidates", [12, 40])
def test_where_nothing_moves_drift_is_told_as_seldom_as_its_p_says(candidates: int) -> None:
    """Abler candidates who come late by chance are no drift, neither of all examiners nor of one.

    Of 200 simulated exams 5 % have a p below 0.05 (limit: the 99.9 % point of the binomial, 21), and by Holm
    no more have one for any examiner. Without the error of the common slope that was 31 of 200.
    """
    found = [
        drift(y, candidate=p, station=s, examiner=r, order=order)
        for y, p, s, r, order in (relieved_at_noon(seed, candidates=candidates) for seed in range(200))
    ]
    assert sum(each.drift.p < 0.05 for each in found) <= 21
    assert sum(np.nanmin(each.holm) < 0.05 for each in found) <= 21


def test_an_examiner_who_gives_everyone_the_same_is_found() -> None:
    """The examiner whose marks hardly differ is named; among honest ones none is."""
    y, p, s, r, _ = exam(6, candidates=90)
    assert spread(y, station=s, examiner=r).alike.tolist() == []
    flat = np.where(r == 4, 60 + 0.1 * (p % 2), y)
    found = spread(flat, station=s, examiner=r)
    assert found.alike.tolist() == [4]
    assert found.commonest[4] == pytest.approx(0.5)


def test_severity_needs_several_examiners_at_a_station() -> None:
    """One examiner a station is refused: severity and difficulty cannot be told apart."""
    y, p, s, _, _ = exam(7)
    with pytest.raises(InputError, match="severity cannot be told from difficulty"):
        severity(y, candidate=p, station=s, examiner=s)


IN_AOV = """
d <- read.csv(text = "{data}"); d$c <- factor(d$c)
for (s in unique(d$s)) {{
  a <- anova(lm(y ~ c, d[d$s == s, ])); n <- sum(d$s == s)
  limit <- function(tail) {{
    if (pf(a$F[1], a$Df[1], a$Df[2]) < tail) return(0)
    ncp <- uniroot(function(l) pf(a$F[1], a$Df[1], a$Df[2], l) - tail, c(0, 500), tol = 1e-10)$root
    ncp / (ncp + n)
  }}
  omega <- (a$Sum[1] - a$Df[1] * a$Mean[2]) / (sum(a$Sum) + a$Mean[2])
  cat(sprintf("%.9g", c(a$Sum[1] / sum(a$Sum), omega, a$F[1], a$Pr[1], limit(0.95), limit(0.05))), "\\n")
}}
"""


def test_circuit_effects_are_those_of_r() -> None:
    """eta², omega², F, p and the noncentral limits equal R's analysis of variance and noncentral F."""
    y, p, s, r, _ = exam(8)
    y = np.round(y, 2)
    rows = "\n".join(["y,s,c", *(f"{a},{b},{c % 3}" for a, b, c in zip(y, s, r, strict=True))])
    lines = run_r(IN_AOV.format(data=rows), "stats").splitlines()
    found = circuit_effects(y, station=s, circuit=p % 3)
    assert [each.station for each in found] == list(range(8))
    for effect, line in zip(found, lines, strict=True):
        ours = (effect.eta2, effect.omega2, effect.f, effect.p, effect.population.low, effect.population.high)
        assert ours == pytest.approx([float(v) for v in line.split()], abs=1e-6)


@pytest.mark.parametrize("noise", [0.0, 1e-13, 1e-9, 1e-6])
def test_circuits_may_be_all_the_difference(noise: float) -> None:
    """Where candidates of a circuit score alike but for rounding, the circuits are all of the variance."""
    circuit = np.repeat([0, 1, 2], 8)
    score = np.array([20.0, 50.0, 70.0])[circuit] + noise * np.random.default_rng(3).normal(size=24)
    (found,) = circuit_effects(score, station=np.zeros(24, dtype=int), circuit=circuit)
    assert found.omega2 == pytest.approx(1)
    assert (found.population.low, found.population.high) == pytest.approx((1, 1))


def test_expected_share_between_circuits_without_effect() -> None:
    """Over 2,000 stations without a circuit effect the mean of eta² is (n_c - 1)/(n - 1), omega²'s is 0."""
    rng = np.random.default_rng(9)
    station = np.repeat(np.arange(2000), 24)
    found = circuit_effects(
        rng.normal(size=48_000), station=station, circuit=np.tile(np.arange(24) % 3, 2000)
    )
    assert np.mean([each.eta2 for each in found]) == pytest.approx(found[0].no_effect, abs=0.004)
    assert np.mean([each.omega2 for each in found]) == pytest.approx(0, abs=0.004)
    below = np.mean([each.p < 0.05 for each in found])
    assert below == pytest.approx(0.05, abs=0.015)


def test_the_design_is_read_off_the_data() -> None:
    """Nested, constant and coinciding facets are recognised, and what is joined is told."""
    p, s = (code.ravel() for code in np.indices((30, 6)))
    found = detect({"p": p, "s": s, "r": s, "site": np.zeros(180, dtype=int)})
    assert (found.design.facets, found.terms) == (("p", "s"), (("p",), ("s",)))
    assert dict(found.joined)["r"] == "coincides with s"
    assert dict(found.joined)["site"] == "has one level"
    found = detect({"p": p, "s": s, "r": s * 3 + p % 3, "c": p % 3})
    assert found.design.nests == ((("c",)), (), ())
    assert dict(found.joined)["r"] == "coincides with s*c"
    assert ("s", "c") in found.terms
    double = np.repeat(np.arange(180), 2)
    found = detect({"p": p[double], "s": s[double], "r": s[double] * 2 + np.tile([0, 1], 180)})
    assert found.terms == (("p",), ("s",), ("p", "s"), ("s", "r"))


def test_a_study_of_a_ragged_exam_finds_planted_variances() -> None:
    """With roaming examiners and marks missing, planted variances lie within three standard errors."""
    rng = np.random.default_rng(10)
    p, s = (code.ravel() for code in np.indices((200, 12)))
    r = rng.integers(0, 36, len(p))
    y = (
        60
        + rng.normal(0, 5, 200)[p]
        + rng.normal(0, 4, 12)[s]
        + rng.normal(0, 3, 36)[r]
        + rng.normal(0, 8, len(p))
    )
    kept = rng.random(len(p)) < 0.9
    found = g_study(y[kept], {"candidate": p[kept], "station": s[kept], "examiner": r[kept]})
    assert found.balanced is None
    for name, planted in (("candidate", 25), ("station", 16), ("examiner", 9)):
        part = found.model.components.of(name)
        assert part.se is not None
        assert abs(part.variance - planted) < 3 * part.se
    assert found.model.components.residual.variance == pytest.approx(64, rel=0.12)
