"""What troubled the knee before it was hurt: told apart from what it does now, and from the time since."""

from __future__ import annotations

import pytest

from fabella.record import Mechanism
from tests.dictation.spoken import read


@pytest.mark.parametrize(
    ("told", "answer"),
    [
        ("Pain before the injury.", True),
        ("The knee had been aching for weeks before he fell.", True),
        ("It had been sore for months before the fall.", True),
        ("Swelling before the injury.", True),
        ("Knee already hurt in the weeks before the injury.", True),
        ("No pain before the injury.", False),
        ("No pain or swelling before the fall.", False),
        ("The knee had never been painful before the injury.", False),
        ("Pain-free before the injury.", False),
        ("Knee was fine before that.", False),
    ],
)
def test_it_is_an_answer(told: str, answer: bool) -> None:
    """And nothing of it is left open, nor taken for a normal examination of today."""
    understood = read(f"Left knee. Fell yesterday. {told}")
    assert understood.history["pain_before_injury"] is answer
    assert understood.context.onset_days == 1
    assert not understood.findings
    assert understood.is_complete


def test_how_long_it_had_hurt_is_not_how_long_ago_the_injury_was() -> None:
    """Two months stand before the fall of yesterday, which remains how it happened."""
    text = "Left knee pain for two months before he fell on the knee yesterday. Large effusion left."
    understood = read(text)
    assert understood.history["pain_before_injury"] is True
    assert understood.context.onset_days == 1
    assert understood.context.mechanism is Mechanism.FALL_ON_KNEE
    assert [finding.sign for finding in understood.findings] == ["effusion"]


@pytest.mark.parametrize(
    "text",
    [
        "Left knee. Swollen before he got home. Fell yesterday.",
        "Left knee. Could walk well before the injury.",
        "Left knee. Pain for two weeks.",
        "Left knee. Painful before the operation.",
        "Left knee. The pain began well before the accident.",
        "Left knee. It was painful well before the accident.",
    ],
)
def test_what_tells_of_no_trouble_before_an_injury_is_none(text: str) -> None:
    """A "before" alone says nothing of the time before the injury, nor does "well before it"."""
    assert "pain_before_injury" not in read(text).history
