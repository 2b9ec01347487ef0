"""Cells of the tables read as a reader sees them."""

import pytest

from fabella.evidence import load_edition
from fabella.evidence.plain import percents, plain, with_unit


def test_sources_stand_by_author_and_year() -> None:
    """A key of a source becomes its author and year; a word that is no key of the edition stays."""
    edition = load_edition()
    text = "reach of the whole examination (oshea_1996), not nobody_1999; 40 pct"
    assert plain(edition, text) == "reach of the whole examination (O'Shea KJ 1996), not nobody_1999; 40 %"


@pytest.mark.parametrize(
    ("figure", "unit", "printed"),
    [
        ("5", "deg", "5°"),
        ("62", "pct_cycle", "62 % of the gait cycle"),
        ("1.1", "ratio", "1.1"),
        ("3", "mm", "3 mm"),
    ],
)
def test_units_are_printed(figure: str, unit: str, printed: str) -> None:
    """A figure stands with its unit as it is printed."""
    assert with_unit(figure, unit) == printed


def test_per_cent_needs_a_number() -> None:
    """Only after a number is it per cent."""
    assert percents("every test at 90 pct") == "every test at 90 %"
    assert percents("pct") == "pct"
