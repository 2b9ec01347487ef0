"""A student's record as lines of a file."""

from datetime import UTC, datetime

import pytest

from fabella.anatomy import Side
from fabella.errors import InputError
from fabella.teach import BeliefFact, HabitFact, Lesson, Reading, RunFacts, SignFact, Topic
from fabella.teach.past import Past, past_text, read_past, topics_of

RUN = Past(
    begun=datetime(2025, 3, 31, 18, tzinfo=UTC),
    curriculum="ligaments",
    setting="emergency",
    lesson=Lesson(topic=Topic.MISREAD, about="lachman"),
    facts=RunFacts(
        minutes=None,
        told=False,
        seconds=425.5,
        signs=(
            SignFact(
                sign="lachman",
                side=Side.LEFT,
                reading=Reading.MISSED,
                abnormal=True,
                at_s=61.5,
                seconds=12.0,
            ),
            SignFact(
                sign="antalgic_gait",
                side=None,
                reading=Reading.LEFT_OUT,
                abnormal=None,
                at_s=None,
                seconds=0.0,
            ),
        ),
        habits=(
            HabitFact(habit="both_knees", kept=False, share=0.25),
            HabitFact(habit="consent", kept=True, share=None),
        ),
        beliefs=(
            BeliefFact(lesion="acl_tear", believed=0.7, present=True),
            BeliefFact(lesion="mcl_tear", believed=None, present=True),
        ),
    ),
)


def test_what_is_written_is_read_back() -> None:
    """Every fact of a run comes back from its line as it went in; empty lines are none."""
    text = past_text(RUN)
    assert "\n" not in text
    assert read_past(f"{text}\n\n{text}\n") == (RUN, RUN)
    assert topics_of([RUN, RUN]) == {"misread": 2}
    assert read_past("") == ()


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("practice-record/1", "practice-record/2"),
        ('"missed"', '"overlooked"'),
        ('"left"', '"middle"'),
        ('"misread"', '"misreads"'),
        ("+00:00", ""),
        ('"seconds":425.5', '"seconds":"long"'),
        ('"beliefs"', '"thoughts"'),
        ("{", "["),
    ],
)
def test_every_line_that_is_none_is_named(old: str, new: str) -> None:
    """What cannot be read is told with the number of its line, all such lines in one message."""
    wrong = past_text(RUN).replace(old, new)
    assert wrong != past_text(RUN)
    with pytest.raises(InputError) as caught:
        read_past(f"{wrong}\n{past_text(RUN)}\n{wrong}\n")
    assert [each.place for each in caught.value.problems] == ["line 1", "line 3"]
