"""Bivariate pooling against a published analysis, remembered output of another package, and R."""

import csv
from math import log, sqrt
from pathlib import Path
from typing import Literal

import numpy as np
import pytest
from scipy.special import expit

from fabella.stats import Pooled, TwoByTwo, pool
from tests.reference import run_r

Correction = Literal["zero cells", "all"]
SETS: dict[str, Correction] = {
    "bcg": "zero cells",
    "auditc": "all",
    "dementia": "all",
    "lachman": "zero cells",
}

IN_R = """
pooled <- function(tp, fp, fn, tn, add, method) {
  k <- length(tp)
  y <- c(rbind(log((tp + add) / (fn + add)), log((tn + add) / (fp + add))))
  v <- c(rbind(1 / (tp + add) + 1 / (fn + add), 1 / (tn + add) + 1 / (fp + add)))
  outcome <- factor(rep(c("sens", "spec"), k), levels = c("sens", "spec"))
  study <- rep(1:k, each = 2)
  m <- rma.mv(y, v, mods = ~ outcome - 1, random = ~ outcome | study, struct = "UN", method = method,
              test = "t", dfs = k - 1)
  between <- m$rho * sqrt(prod(m$tau2))
  found <- c(m$b, m$vb[1, 1], m$vb[1, 2], m$vb[2, 2], m$tau2[1], between, m$tau2[2], logLik(m),
             plogis(c(m$ci.lb[1], m$ci.ub[1], m$ci.lb[2], m$ci.ub[2])))
  cat(sprintf("%.12g", found), "\\n")
}
"""


def studies(name: str) -> list[TwoByTwo]:
    """Return the studies of a table beside this file, whose first line names its source."""
    with (Path(__file__).parent / f"pooling_{name}.csv").open(encoding="utf-8") as file:
        rows = csv.DictReader(line for line in file if not line.startswith("#"))
        return [
            TwoByTwo(study=r["study"], tp=int(r["tp"]), fp=int(r["fp"]), fn=int(r["fn"]), tn=int(r["tn"]))
            for r in rows
        ]


def test_van_houwelingen_2002() -> None:
    """The published maximum-likelihood fit of this model is met to every printed digit.

    Source: van Houwelingen, Arends and Stijnen 2002 Stat Med 21:589-624, pages 604-605: log odds of
    tuberculosis with vaccination -4.834 and without -4.096 (SE 0.435), variances between trials 1.431 and
    2.407, correlation 0.947, difference -0.738 (SE 0.180); printed figures as quoted in the tests of R
    metafor. SE 0.340 and log likelihood -33.088: R mixmeta on the same data.
    """
    found = pool(studies("bcg"), method="ML")
    (first, both), (_, second) = found.mean_covariance
    with_vaccine, without = found.mean_logit
    assert (with_vaccine, without) == pytest.approx((-4.834, -4.096), abs=0.0005)
    assert (sqrt(first), sqrt(second)) == pytest.approx((0.340, 0.435), abs=0.0005)
    assert with_vaccine - without == pytest.approx(-0.738, abs=0.0005)
    assert sqrt(first + second - 2 * both) == pytest.approx(0.180, abs=0.0005)
    between = found.between_covariance
    assert (between[0][0], between[1][1]) == pytest.approx((1.431, 2.407), abs=0.0005)
    assert found.correlation == pytest.approx(0.947, abs=0.0005)
    assert found.log_likelihood == pytest.approx(-33.088, abs=0.0005)
    assert (found.converged, found.warnings, found.n_corrected) == (True, (), 0)


def test_auditc_as_printed_by_mada() -> None:
    """REML on the AUDIT-C studies gives the figures that R package mada prints in its vignette.

    Source: Doebler and Holling, vignette of mada, summary of reitsma(AuditC), figures from memory: logits
    2.100 (SE 0.338) and, for the false positive rate, -1.264 (0.174); sensitivity 0.891 (0.808 to 0.941),
    false positive rate 0.220 (0.167 to 0.285); SD between studies of the first 1.175, correlation 0.854. mada
    models the false positive rate, so signs turn; it adds 0.5 to all studies because one has an empty cell.
    Its intervals are normal; ours are by t, with 13 degrees of freedom 2.160 errors wide (any printed table).
    """
    found = pool(studies("auditc"), correction="all")
    assert found.mean_logit == pytest.approx((2.100, 1.264), abs=0.0005)
    errors = [sqrt(found.mean_covariance[i][i]) for i in (0, 1)]
    assert errors == pytest.approx([0.338, 0.174], abs=0.0005)
    sens, spec = found.sensitivity, found.specificity
    for ours, which, printed in ((sens, 0, (0.808, 0.891, 0.941)), (spec, 1, (0.715, 0.780, 0.833))):
        middle, error = found.mean_logit[which], errors[which]
        assert expit([middle - 1.960 * error, middle, middle + 1.960 * error]) == pytest.approx(
            printed, abs=0.0005
        )
        assert (ours.low, ours.estimate, ours.high) == pytest.approx(
            expit([middle - 2.160 * error, middle, middle + 2.160 * error]), abs=0.0001
        )
    assert sqrt(found.between_covariance[0][0]) == pytest.approx(1.175, abs=0.0005)
    assert found.correlation == pytest.approx(-0.854, abs=0.0005)
    assert found.n_corrected == 14


@pytest.mark.parametrize(
    ("name", "sensitivity", "specificity"),
    [("auditc", 0.9248209, 0.7818019), ("dementia", 0.8065336, 0.9001117)],
)
def test_the_exact_binomial_model_lies_within_our_interval(
    name: str, sensitivity: float, specificity: float
) -> None:
    """With binomial and not normal within-study errors the summary moves outwards, within our interval.

    Source: bivariate binomial mixed model by R lme4 glmer (Laplace) on the same data. That both normal
    summaries are nearer to one half is the known price of the normal approximation (Chu and Cole 2006 J Clin
    Epidemiol 59:1331, from memory).
    """
    found = pool(studies(name), correction="all")
    assert found.sensitivity.estimate < sensitivity < found.sensitivity.high
    assert found.specificity.estimate < specificity < found.specificity.high


def test_metafor_finds_the_same() -> None:
    """R metafor's rma.mv(struct="UN") agrees on four data sets, REML and ML, one of them at correlation -1.

    Largest absolute differences reached (metafor 3.8-1): 1.4e-7 in a summary logit, 1.7e-7 in its
    covariance, 1.9e-6 in a between-study (co)variance, 4e-10 in the log likelihood. Lachman studies alone,
    REML, the pooling really used: 2.3e-8, 1.6e-7, 1e-6 and 1e-10. Intervals by t with a degree of freedom
    less than studies, which metafor does not choose by itself but takes when told, agree to 1e-6.
    """
    fits: list[Pooled] = []
    code = IN_R
    for name, correction in SETS.items():
        for method in ("REML", "ML"):
            table = studies(name)
            fits.append(pool(table, method=method, correction=correction))
            counts = [
                f"c({', '.join(str(getattr(s, cell)) for s in table)})" for cell in ("tp", "fp", "fn", "tn")
            ]
            code += f"pooled({', '.join(counts)}, {0.5 if correction == 'all' else 0}, '{method}')\n"
    lines = run_r(code, "metafor").strip().splitlines()
    for found, line in zip(fits, lines, strict=True):
        theirs = [float(x) for x in line.split()]
        assert found.mean_logit == pytest.approx(theirs[:2], abs=1e-6)
        assert _triangle(found.mean_covariance) == pytest.approx(theirs[2:5], abs=1e-6)
        assert _triangle(found.between_covariance) == pytest.approx(theirs[5:8], abs=5e-6)
        assert found.log_likelihood == pytest.approx(theirs[8], abs=1e-8)
        ends = [each for i in (found.sensitivity, found.specificity) for each in (i.low, i.high)]
        assert ends == pytest.approx(theirs[9:], abs=1e-6)
        assert found.converged
    bound = fits[-1]
    assert bound.correlation == pytest.approx(-1, abs=1e-4)
    assert any("bound -1" in warning for warning in bound.warnings)


def test_the_odds_ratio_of_the_vaccine_is_pooled_too() -> None:
    """The difference of the two logits gives the published odds ratio 0.478 (0.336 to 0.680).

    Source: van Houwelingen 2002 Stat Med 21:589-624, pages 604-605, as quoted in the tests of R metafor.
    """
    found = pool(studies("bcg"), method="ML")
    (first, both), (_, second) = found.mean_covariance
    middle = found.mean_logit[0] - found.mean_logit[1]
    reach = 1.959964 * sqrt(first + second - 2 * both)
    assert (middle, middle - reach, middle + reach) == pytest.approx(
        (log(0.478), log(0.336), log(0.680)), abs=0.0015
    )


def test_the_radius_of_the_lachman_region_is_that_of_the_printed_tables() -> None:
    """Every border point is as far from the summary as the tables of chi-squared and F say.

    Squared distance: 5.991, the 95 % point of chi-squared with 2 degrees of freedom; with the allowance for
    six studies 2 * 5/4 * 6.944, where 6.944 is the 95 % point of F(2, 4). Both points: any printed table.
    """
    found = pool(studies("lachman"))
    for small_sample, distance in ((False, 5.991), (True, 2 * 5 / 4 * 6.944)):
        border = found.confidence_region(small_sample=small_sample, points=25)
        logits = np.column_stack([np.log(border[:, 1] / (1 - border[:, 1])), np.log(1 / border[:, 0] - 1)])
        step = logits - found.mean_logit
        away = np.einsum("ni,ij,nj->n", step, np.linalg.inv(found.mean_covariance), step)
        assert away == pytest.approx(distance, abs=0.002)


def _triangle(matrix: tuple[tuple[float, float], tuple[float, float]]) -> list[float]:
    return [matrix[0][0], matrix[0][1], matrix[1][1]]
