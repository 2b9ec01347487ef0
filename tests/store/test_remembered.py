"""What is remembered from request to request is bounded, and what was used last stays."""

from fabella.store.remembered import Remembered


def test_what_was_used_longest_ago_is_forgotten_first() -> None:
    """Of three values where two are kept, the one that was neither put nor asked for last is gone."""
    remembered: Remembered[str, int] = Remembered(2)
    remembered.put("a", 1)
    remembered.put("b", 2)
    assert remembered.get("a") == 1
    remembered.put("c", 3)
    assert [remembered.get(key) for key in "abc"] == [1, None, 3]


def test_a_value_takes_the_place_of_the_one_before_and_can_be_forgotten() -> None:
    """A key has one value, the last; forgotten, it has none."""
    remembered: Remembered[str, int] = Remembered(2)
    remembered.put("a", 1)
    remembered.put("a", 2)
    assert remembered.get("a") == 2
    remembered.forget()
    assert remembered.get("a") is None


def test_a_value_that_is_taken_is_there_once() -> None:
    """Taken, it is forgotten, and the others stay."""
    remembered: Remembered[str, int] = Remembered(2)
    remembered.put("a", 1)
    remembered.put("b", 2)
    assert [remembered.take("a"), remembered.take("a"), remembered.get("b")] == [1, None, 2]
