"""The pooled studies in ROC space: circles, summary and regions measured back from the drawing."""

import re
from math import log

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.stats import f as f_distribution

from fabella.evidence import load_edition
from fabella.evidence.knowledge import load_knowledge
from fabella.evidence.pool_model import ENOUGH, POOLED, pooled, studies
from fabella.report.forest import forests
from fabella.report.roc import FIELD, LEFT, TOP, Roc, no_roc, place, roc, shares
from tests.reference import run_r

EDITION = load_edition()
QUESTION = ("acl_tear", "positive")


def drawn(sign: str) -> Roc:
    """The drawing of a sign that we pool."""
    found = roc(EDITION, sign, *QUESTION)
    assert found is not None
    return found


def logits(path: str) -> NDArray[np.float64]:
    """Logits of sensitivity and specificity at every point of a path, measured back from the drawing."""
    numbers = [tuple(map(float, each.split())) for each in re.findall(r"[ML]([\d. ]+)", path)]
    measured = [shares((x, y)) for x, y in numbers]
    return np.array([(log(hit / (1 - hit)), log((1 - alarm) / alarm)) for alarm, hit in measured])


@pytest.mark.parametrize("sign", POOLED)
def test_circles_stand_at_the_shares_of_their_counts(sign: str) -> None:
    """Centre and area of every circle give back false alarms, hits and patients of its study."""
    found = drawn(sign)
    largest = max(found.studies, key=lambda each: each.knees)
    for study in found.studies:
        tp, fp, fn, tn = study.counts
        alarm, hit = shares(study.at)
        assert (alarm, hit) == pytest.approx((fp / (fp + tn), tp / (tp + fn)), abs=2e-5)
        assert study.knees == tp + fp + fn + tn
        assert (study.radius / largest.radius) ** 2 == pytest.approx(study.knees / largest.knees, rel=2e-3)
        assert LEFT <= study.at[0] <= LEFT + FIELD
        assert TOP <= study.at[1] <= TOP + FIELD


@pytest.mark.parametrize("sign", POOLED)
def test_the_drawing_shows_what_the_model_uses(sign: str) -> None:
    """Pooled studies and summary are those of the model's table; the studies left out say why."""
    found = drawn(sign)
    used = next(each for each in load_knowledge().accuracy if each.sign == sign)
    assert {each.source.key for each in found.studies if not each.left_out} == set(used.keys)
    assert (found.sensitivity.at, found.specificity.at) == pytest.approx(
        (100 * used.sensitivity, 100 * used.specificity)
    )
    alarm, hit = shares(found.summary)
    assert (hit, 1 - alarm) == pytest.approx((used.sensitivity, used.specificity), abs=6e-4)
    assert [each.letter for each in found.studies] == list("abcdefgh"[: len(found.studies)])


@pytest.mark.parametrize("sign", POOLED)
def test_both_borders_satisfy_the_equation_of_their_ellipse(sign: str) -> None:
    """Every point, measured back, lies 2 (n-1)/(n-2) F(0.95; 2, n-2) from the summary (Hotelling 1931)."""
    rows = studies(EDITION, sign)
    fit, n = pooled(rows), len(rows)
    radius = 2 * (n - 1) / (n - 2) * f_distribution.ppf(0.95, 2, n - 2)
    mean_error = np.array(fit.mean_covariance)
    found = drawn(sign)
    for path, covariance in (
        (found.confidence, mean_error),
        (found.prediction, mean_error + np.array(fit.between_covariance)),
    ):
        step = logits(path) - fit.mean_logit
        away = np.einsum("ni,ij,nj->n", step, np.linalg.inv(covariance), step)
        inside = _readable(path)
        assert len(step) == 120
        assert inside.sum() > 20
        assert away[inside] == pytest.approx(radius, rel=0.02)


def _readable(path: str) -> NDArray[np.bool_]:
    """Say which points lie far enough from the edges for three decimals to give their logits back."""
    numbers = [tuple(map(float, each.split())) for each in re.findall(r"[ML]([\d. ]+)", path)]
    measured = np.array([shares((x, y)) for x, y in numbers])
    return np.asarray(((measured > 0.001) & (measured < 0.999)).all(axis=1))


def test_r_encloses_the_same() -> None:
    """R metafor's fit of the Lachman studies gives the same two ellipses, within a thousandth of the scale.

    The ellipse is drawn in R itself: centre b, shape chol(vb) and chol(vb + tau2), radius by qf.
    """
    rows = studies(EDITION, "lachman")
    cells = [[each.counts.cells[i] if each.counts else None for each in rows] for i in range(4)]
    tp, fp, fn, tn = (f"c({', '.join(map(str, each))})" for each in cells)
    printed = run_r(
        f"""
        tp <- {tp}; fp <- {fp}; fn <- {fn}; tn <- {tn}; k <- length(tp)
        y <- c(rbind(log(tp / fn), log(tn / fp)))
        v <- c(rbind(1 / tp + 1 / fn, 1 / tn + 1 / fp))
        outcome <- factor(rep(c("sens", "spec"), k), levels = c("sens", "spec"))
        study <- rep(1:k, each = 2)
        m <- rma.mv(y, v, mods = ~ outcome - 1, random = ~ outcome | study, struct = "UN", method = "REML")
        between <- m$rho * sqrt(prod(m$tau2))
        tau2 <- matrix(c(m$tau2[1], between, between, m$tau2[2]), 2)
        r2 <- 2 * (k - 1) / (k - 2) * qf(0.95, 2, k - 2)
        for (shape in list(m$vb, m$vb + tau2)) {{
          turn <- seq(0, 2 * pi, length.out = 41)[1:40]
          p <- t(as.vector(m$b) + sqrt(r2) * t(chol(shape)) %*% rbind(cos(turn), sin(turn)))
          cat(sprintf("%.10g", plogis(c(rbind(-p[, 2], p[, 1])))), "\\n")
        }}
        """,
        "metafor",
    )
    found = drawn("lachman")
    for line, path in zip(printed.strip().splitlines(), (found.confidence, found.prediction), strict=True):
        theirs = np.array(line.split(), dtype=float).reshape(-1, 2)
        ours = [tuple(map(float, each.split())) for each in re.findall(r"[ML]([\d. ]+)", path)]
        for alarm, hit in theirs:
            assert _distance(np.array(ours), np.array(place(alarm, hit))) < 0.1


def _distance(border: NDArray[np.float64], point: NDArray[np.float64]) -> float:
    """Distance of a point from a closed line, in units of the drawing of which 100 are the whole scale."""
    start, end = border, np.roll(border, -1, axis=0)
    along = end - start
    share = np.clip(((point - start) * along).sum(axis=1) / (along**2).sum(axis=1), 0, 1)
    return float(np.linalg.norm(start + share[:, None] * along - point, axis=1).min())


@pytest.mark.parametrize("sign", POOLED)
def test_letters_cover_nothing(sign: str) -> None:
    """Every letter stands outside every circle and apart from the other letters."""
    found = drawn(sign)
    for study in found.studies:
        edges = {
            each.letter: np.hypot(*np.subtract(each.at, study.letter_at)) - each.radius
            for each in found.studies
        }
        assert min(edges.values()) > 1.5, study.letter
        others = [np.hypot(*np.subtract(each.letter_at, study.letter_at)) for each in found.studies]
        assert sum(each < 3 for each in others) == 1, study.letter


def test_without_enough_counts_the_page_says_why() -> None:
    """Each question has either a drawing or a sentence, never both; too few studies are counted out."""
    knowledge = load_knowledge()
    for sign in sorted({row.sign_id for row in EDITION.accuracy}):
        for each in forests(EDITION, knowledge, sign):
            asked = (each.sign, each.target, each.read)
            assert bool(no_roc(EDITION, *asked)) is not bool(roc(EDITION, *asked))
            assert (len(studies(EDITION, *asked)) >= ENOUGH) is not bool(no_roc(EDITION, *asked))
    assert no_roc(EDITION, "pivot_shift", *QUESTION).startswith(
        "2 studies with all four counts can be pooled"
    )
    assert "is left out" in no_roc(EDITION, "pivot_shift", *QUESTION)
