"""Large exams are analysed in processor seconds that leave room for a machine under load."""

from time import process_time

import numpy as np

from fabella.assess.facets_rasch import rasch
from fabella.assess.facets_ratings import cumulated, log_probabilities
from fabella.assess.severity import severity


def test_components_of_a_thousand_candidates() -> None:
    """1,000 candidates, 12 stations, 36 roaming examiners: severity and its errors in 2 s of processor."""
    rng = np.random.default_rng(1)
    p, s = (code.ravel() for code in np.indices((1000, 12)))
    r = rng.integers(0, 36, len(p))
    y = 60 + rng.normal(0, 5, 1000)[p] + rng.normal(0, 4, 12)[s] - rng.normal(0, 3, 36)[r]
    y += rng.normal(0, 8, len(p))
    severity(y[:600], candidate=p[:600], station=s[:600], examiner=r[:600])  # loads what is loaded once
    begun = process_time()
    found = severity(y, candidate=p, station=s, examiner=r)
    assert process_time() - begun < 2
    assert found.model.converged


def test_rasch_analysis_of_240_000_marks() -> None:
    """1,000 candidates, 12 stations of 20 items, 36 examiners in 8 s of processor.

    On a quiet machine it takes about a third of that; see `docs/exam_reliability.md`.
    """
    rng = np.random.default_rng(3)
    p, s, i = (code.ravel() for code in np.indices((1000, 12, 20)))
    item = s * 20 + i
    examiner = s * 3 + np.repeat(rng.integers(0, 3, 12_000), 20)
    severe = rng.normal(0, 0.4, 36)
    place = rng.normal(0.5, 1, 1000)[p] - rng.normal(0, 1, 240)[item] - severe[examiner]
    sums = cumulated(np.array([[-0.7, 0.7]]), np.array([2])).T
    chance = np.exp(log_probabilities(place, sums)).cumsum(axis=0)
    mark = (rng.random(len(p)) > chance).sum(axis=0)
    facets = {"item": item, "examiner": examiner}
    begun = process_time()
    found = rasch(mark, candidate=p, facets=facets, centred={"examiner": s})
    assert process_time() - begun < 8
    at_station = severe.reshape(12, 3) - severe.reshape(12, 3).mean(axis=1, keepdims=True)
    away = found.of("examiner").estimate - at_station.ravel()
    assert np.sqrt(np.mean(away**2)) < 0.05
