import threading
from collections.abc import Sequence

import pytest

from fabella.store.school.together import Together
from tests.web.hands import wait_until

ASKED = 60


def asked_at_once(together: Together[int, int], wishes: Sequence[int]) -> dict[int, int | str]:
    """Let a thread ask for each wish at the same time; return what each was told."""
    told: dict[int, int | str] = {}
    ready = threading.Barrier(len(wishes))

    def ask(wish: int) -> None:
        ready.wait()
        try:
            told[wish] = together.ask(wish)
        except ValueError as error:
            told[wish] = str(error)

    threads = [threading.Thread(target=ask, args=(wish,), daemon=True) for wish in wishes]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=30)
    return told


def test_whoever_asks_is_answered_once_and_by_few_writes() -> None:
    """Sixty who ask while one writes are each told their own answer, and written for at once."""
    calls: list[tuple[int, ...]] = []
    first_is_in, go_on = threading.Event(), threading.Event()

    def write(wishes: Sequence[int]) -> list[int]:
        calls.append(tuple(wishes))
        first_is_in.set()
        assert go_on.wait(timeout=30)
        return [wish * wish for wish in wishes]

    together: Together[int, int] = Together(write)
    first = threading.Thread(target=together.ask, args=(0,), daemon=True)
    first.start()
    assert first_is_in.wait(timeout=30)

    def release_when_all_wait() -> None:
        wait_until(lambda: len(together._waiting) == ASKED)
        go_on.set()

    threading.Thread(target=release_when_all_wait, daemon=True).start()
    told = asked_at_once(together, range(1, ASKED + 1))
    assert told == {wish: wish * wish for wish in range(1, ASKED + 1)}
    assert sorted(wish for call in calls for wish in call) == list(range(ASKED + 1))
    assert len(calls) == 2


def test_what_goes_wrong_is_told_to_everybody_it_concerns_and_to_nobody_else() -> None:
    """A write that fails is told to all who were written for; the next who asks is served as ever."""

    def write(wishes: Sequence[int]) -> list[int]:
        if 13 in wishes:
            raise ValueError("the disk is full")
        return list(wishes)

    together: Together[int, int] = Together(write)
    told = asked_at_once(together, range(10, 20))
    assert told[13] == "the disk is full"
    assert set(told) == set(range(10, 20))
    assert all(answer in (wish, "the disk is full") for wish, answer in told.items())
    assert together.ask(7) == 7
    with pytest.raises(ValueError, match="full"):
        together.ask(13)
    assert together.ask(8) == 8
