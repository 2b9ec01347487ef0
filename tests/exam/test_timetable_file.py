import json

import pytest

from fabella.errors import InputError
from fabella.exam import Candidate, Day, Examiner, Round, make_timetable, read_timetable, write_timetable

DAY = Day(
    stations=("one", "two"),
    circuits=("A", "B"),
    rounds=(Round(begins_min=540), Round(begins_min=620, extra_share=0.25)),
    examiners=(
        *(Examiner(id=f"E{each}") for each in range(4)),
        Examiner(id="R", stations=frozenset({"two"}), away=frozenset({0}), reserve=True),
    ),
    candidates=(
        Candidate(id="C1", extra_share=0.25, circuits=frozenset({"A"})),
        Candidate(id="C2", conflicts=frozenset({"E1"})),
        Candidate(id="C3"),
    ),
    rests=1,
)


def test_a_timetable_is_read_as_it_was_written() -> None:
    """Everything of a day, its seats and its duties comes back; the same timetable gives the same text."""
    table = make_timetable(DAY, seconds=2)
    text = write_timetable(table)
    assert read_timetable(text) == table
    assert write_timetable(read_timetable(text)) == text


def test_everything_wrong_with_a_timetable_is_told_at_once() -> None:
    """Unknown people and places, and what is out of range, are named with their line and the nearest name."""
    tree = json.loads(write_timetable(make_timetable(DAY, seconds=2)))
    tree["seats"][0] |= {"candidate": "C9", "first": 7}
    tree["duties"][0] |= {"station": "on", "turn": 5}
    with pytest.raises(InputError) as error:
        read_timetable(json.dumps(tree))
    told = str(error.value)
    assert "seats 1, candidate: 'C9' is not on this day" in told
    assert "did you mean 'one'?" in told
    assert "count from 0 to 2" in told
    assert "count from 0 to 1" in told


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"format": "fabella.timetable/2"}', "[" * 10_000])
def test_what_is_no_timetable_is_refused(text: str) -> None:
    """No text makes anything but a timetable or a list of what is wrong."""
    with pytest.raises(InputError):
        read_timetable(text)


def test_a_field_too_many_or_of_a_wrong_kind_is_named() -> None:
    """A misspelt field, a share that is none and minutes that are none are all told."""
    tree = json.loads(write_timetable(make_timetable(DAY, seconds=2)))
    tree["day"]["sation_min"] = 8
    tree["day"]["station_min"] = -3
    tree["day"]["candidates"][0]["extra_share"] = 4
    with pytest.raises(InputError) as error:
        read_timetable(json.dumps(tree))
    for words in ("sation_min", "-3", "is no share"):
        assert words in str(error.value)
