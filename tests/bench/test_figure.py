"""What a figure says of itself, and how it is written."""

import pytest

from fabella.bench import Figure, line_of


def figure(measured: float | None, **limits: float) -> Figure:
    """A figure in seconds."""
    return Figure(part="load", what="something", measured=measured, unit="s", note="why", **limits)


@pytest.mark.parametrize(
    ("made", "ratio", "met"),
    [
        (figure(0.4, at_most=0.5), 0.8, True),
        (figure(0.5, at_most=0.5), 1.0, True),
        (figure(0.6, at_most=0.5), 1.2, False),
        (figure(200.0, at_least=100.0), 2.0, True),
        (figure(100.0, at_least=100.0), 1.0, True),
        (figure(50.0, at_least=100.0), 0.5, False),
        (figure(0.4), None, None),
        (figure(None, at_most=0.5), None, None),
    ],
)
def test_a_ratio_is_measured_over_limit(made: Figure, ratio: float | None, met: bool | None) -> None:
    """A limit from above is met up to a ratio of 1, one from below from there on; else nobody knows."""
    assert made.ratio == (None if ratio is None else pytest.approx(ratio))
    assert made.met is met


@pytest.mark.parametrize(
    ("made", "line"),
    [
        (figure(0.4, at_most=0.5), ("0.40 s", "≤ 0.50 s", "0.80", "met")),
        (figure(62.4, at_most=50.0), ("62 s", "≤ 50 s", "1.25", "not met")),
        (figure(None, at_least=100.0), ("not measured", "≥ 100 s", "", "")),
        (figure(0.4), ("0.40 s", "", "", "")),
        (
            Figure(part="cohort", what="something", measured=0.684, unit="share", at_least=0.5, note="why"),
            ("68 %", "≥ 50 %", "1.37", "met"),
        ),
        (
            Figure(part="library", what="something", measured=1002.3, unit="times", at_least=100, note="why"),
            ("1,002 times", "≥ 100 times", "10", "met"),
        ),
        (
            Figure(
                part="cohort", what="something", measured=3e-16, unit="difference", at_most=1e-9, note="why"
            ),
            ("3e-16", "≤ 1e-09", "3e-07", "met"),
        ),
    ],
)
def test_a_figure_is_written_with_its_unit(made: Figure, line: tuple[str, ...]) -> None:
    """A line holds what, value, limit, ratio and verdict; nothing stands where nothing was measured."""
    assert line_of(made) == (made.part, "something", *line, "why")
