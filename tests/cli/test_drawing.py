from io import StringIO

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.console import Console

from fabella.cli.drawing import ASCII, LINES, bar, heading, scale
from tests.cli.running import call

SHARES = st.floats(0, 1)


@given(st.lists(SHARES, min_size=3, max_size=3).map(sorted), st.integers(1, 60))
def test_a_bar_shows_its_numbers_to_the_cell(shares: list[float], cells: int) -> None:
    """The estimate stands in its own cell; the interval reaches from its first to its last cell."""
    low, probability, high = shares
    drawn = bar(probability, low, high, cells=cells)
    assert len(drawn) == cells
    first, at, last = (min(int(each * cells), cells - 1) for each in shares)
    assert drawn.index("●") == at
    assert drawn.count("●") == 1
    assert [place for place, each in enumerate(drawn) if each != "·"] == list(range(first, last + 1))
    assert drawn[first] in "├●"
    assert drawn[last] in "┤●"


def test_bars_as_they_look() -> None:
    """Bars as a reader sees them, with lines and in plain ASCII."""
    assert bar(0.5, 0.3, 0.75, cells=20) == "······├───●────┤····"
    assert bar(0.5, 0.3, 0.75, cells=20, strokes=ASCII) == "......[---#----]...."
    assert bar(0, 0, 0, cells=10) == "●·········"
    assert bar(1, 1, 1, cells=10) == "·········●"
    assert bar(0.01, 0, 0.2, cells=10) == "●─┤·······"


def test_the_plain_bar_is_ascii() -> None:
    """Every stroke of the plain bar is one ASCII character, and no two mean the same by looking alike."""
    strokes = [getattr(ASCII, name) for name in ("scale", "low", "between", "estimate", "high")]
    assert all(len(each) == 1 and each.isascii() for each in strokes)
    assert len(set(strokes)) == len(strokes)
    assert {len(getattr(LINES, name)) for name in ("scale", "low", "between", "estimate", "high")} == {1}


@given(st.integers(6, 60))
def test_the_scale_is_as_long_as_the_bar(cells: int) -> None:
    """The scale begins with 0 above the first cell and ends with 100% above the last."""
    assert len(scale(cells)) == cells
    assert scale(cells).split() == ["0", "100%"]


@given(
    st.lists(st.text("abcdefgh", min_size=1, max_size=12), min_size=1, max_size=30).map(" ".join),
    st.integers(20, 100),
)
def test_a_heading_is_never_cut(text: str, width: int) -> None:
    """Every word of a heading is printed within the width, and a line follows the last."""
    with StringIO() as page:
        console = Console(file=page, width=width)
        console.print(heading(text))
        lines = page.getvalue().splitlines()
    assert all(len(line) <= width for line in lines)
    assert " ".join(lines).replace("─", " ").split() == text.split()
    assert ["─" in line for line in lines] == [False] * (len(lines) - 1) + [True]


def test_a_long_question_keeps_its_end(monkeypatch: pytest.MonkeyPatch) -> None:
    """At 80 columns a heading of ``fabella evidence`` says how the sign was read, on a line of its own."""
    monkeypatch.setenv("COLUMNS", "80")
    lines = call("evidence", "dial_30_and_90").out.splitlines()
    asked = "Combined posterolateral corner and posterior cruciate ligament injury, sign"
    assert lines[lines.index(asked) + 1].startswith("read as positive ──")
