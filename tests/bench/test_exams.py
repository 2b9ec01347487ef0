"""An exam as it is measured: the same model on both sides, and nothing claimed that was not measured."""

from __future__ import annotations

import numpy as np
import pytest

from fabella.assess import read_marks
from fabella.bench import Figure, Machine
from fabella.bench.exams import blueprint_of_size, exam_text, measure_exam
from tests.bench.ticking import ticking
from tests.reference import run_r


def measure(*, candidates: int = 90) -> dict[str, Figure]:
    """Measure a small exam with clocks that tick a second a reading."""
    machine = Machine(ticking(), ticking(), size=10)
    figures = measure_exam(machine, candidates=candidates, passes=1, pages=3, rng=np.random.default_rng(3))
    return {each.what: each for each in figures}


def test_the_general_library_has_the_same_severities() -> None:
    """On full marks or not, R's lme4 (its random effects drawn a little to 0) and we agree to 0.15 logit."""
    run_r("cat(1)", "lme4")
    found = measure()
    apart = found["severities, furthest from its own, logit"].measured
    assert apart is not None
    assert apart < 0.15
    faster = found["Rasch part, times faster than lme4"]
    assert faster.measured is not None
    assert faster.measured > 0
    assert faster.at_least == 10


def test_without_the_general_library_nothing_is_claimed(monkeypatch: pytest.MonkeyPatch) -> None:
    """The line then says that it was not measured and how to install what is missing."""
    monkeypatch.setattr("fabella.bench.exams.shutil.which", lambda _: None)
    found = measure(candidates=60)
    faster = found["Rasch part, times faster than lme4"]
    assert (faster.measured, faster.met) == (None, None)
    assert "not measured: R with lme4 is not installed" in faster.note
    assert found["analysed completely"].measured == 1
    assert "refused" not in found["analysed completely"].note
    assert found["analysed completely"].at_most == 5
    assert found["feedback for 2,000 candidates"].measured == pytest.approx(2000 / 3)
    assert found["feedback for 2,000 candidates"].at_most == 60


def test_the_exam_measured_is_of_the_size_promised() -> None:
    """12 stations of 20 items and an examiner for each of three circuits, every mark there."""
    blueprint = blueprint_of_size()
    marks = read_marks(exam_text(blueprint, candidates=30, rng=np.random.default_rng(1)), blueprint=blueprint)
    assert (marks.n_candidates, marks.n_stations, len(marks.examiners)) == (30, 12, 36)
    assert len(marks.mark) == 30 * 12 * 20
    assert not np.isnan(marks.mark).any()
    assert not np.isnan(marks.started_s).any()
