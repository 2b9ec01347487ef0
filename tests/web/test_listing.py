"""The examination of a visit as a list: what was found, and what brought the patient, in words."""

from __future__ import annotations

import pytest

from fabella.anatomy import Side
from fabella.protocol import load_protocol
from fabella.record import Context, Examination, Finding, Origin, State
from fabella.report.gather import gather
from fabella.web.history import answers
from fabella.web.listing import listing

PROTOCOL = load_protocol()


@pytest.mark.parametrize(
    ("sign", "state", "level", "words"),
    [
        ("mcmurray_medial", State.ABNORMAL, None, "positive"),
        ("joint_line_tenderness_medial", State.ABNORMAL, None, "present"),
        ("scar", State.ABNORMAL, None, "present"),
        ("deep_squat", State.ABNORMAL, None, "abnormal"),
        ("lachman", State.ABNORMAL, "2+", "2+"),
        ("mcmurray_medial", State.NORMAL, None, "normal"),
    ],
)
def test_what_was_found_is_listed_as_it_is_called(
    sign: str, state: State, level: str | None, words: str
) -> None:
    """A test is positive and a scar present; only what is named by its normal is abnormal."""
    finding = Finding(sign=sign, side=Side.RIGHT, state=state, level=level)
    examination = Examination(id="x", origin=Origin.INVENTED, findings=(finding,))
    (section,) = listing(gather(examination, (), PROTOCOL), PROTOCOL)
    (row,) = section.rows
    assert row.right is not None
    assert (row.right.words, row.left) == (words, None)


@pytest.mark.parametrize(
    ("days", "words"), [(0, "on the day itself"), (1, "1 day before"), (21, "21 days before")]
)
def test_when_it_began_is_told_in_the_right_number(days: float, words: str) -> None:
    """One day is no days."""
    examination = Examination(id="x", origin=Origin.INVENTED, context=Context(onset_days=days))
    assert [each.words for each in answers(examination, PROTOCOL) if each.name == "Began"] == [words]
