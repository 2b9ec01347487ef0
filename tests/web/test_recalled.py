"""Earlier visits are worked out once for everybody who asks, and nobody who examines waits for them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fabella.follow import lightened
from fabella.web import recalled
from fabella.web.elsewhere import in_turn
from fabella.web.recalled import followed, weigh_both
from fabella.web.workers import Workers
from tests.follow.test_undone import firm, torn
from tests.web.hands import wait_until


@pytest.mark.usefixtures("workers")
def test_earlier_visits_are_what_a_workup_makes_of_them() -> None:
    """Wherever they are worked out, in their order, under the name of whoever signed each."""
    visits = [replace(each.examination, examiner="Ann Kettle") for each in (torn(), firm())]
    for worked_up, whole, visit in zip(followed(visits), (torn(), firm()), visits, strict=True):
        assert worked_up.examination == visit
        assert worked_up.graded == whole.graded
        light = lightened(whole).conclusion
        assert worked_up.conclusion is not None
        assert light is not None
        for knee, same in zip(worked_up.conclusion.knees, light.knees, strict=True):
            assert [(each.lesion, each.probability) for each in knee.lesions] == [
                (each.lesion, each.probability) for each in same.lesions
            ]


def test_nobody_who_examines_waits_for_earlier_visits(
    workers: Workers, monkeypatch: pytest.MonkeyPatch
) -> None:
    """They are begun one after the other, whoever asks meanwhile is told so, and each is worked out once."""
    begun = []
    start = workers.start

    def counted(function: object, about: object) -> object:
        begun.append(about)
        return start(function, about)  # type: ignore[arg-type]

    monkeypatch.setattr(workers, "start", counted)
    visits = [replace(torn().examination, id=f"earlier-{number}") for number in range(3)]
    assert weigh_both(firm().examination, visits) is None
    assert len(begun) == 1
    wait_until(lambda: weigh_both(firm().examination, visits) is not None)
    (told,) = weigh_both(firm().examination, visits) or ()
    assert told.lesion == "acl_tear"
    assert len(begun) == len(visits) + 1  # and the examination of now
    assert followed(visits)
    assert len(begun) == len(visits) + 1


@pytest.mark.usefixtures("workers")
def test_where_no_earlier_visit_told_anything_nothing_of_now_is_asked() -> None:
    """Most patients: a touch costs them nothing more."""
    wait_until(lambda: in_turn(recalled._followed, [replace(firm().examination, examiner=None)]) is not None)
    assert weigh_both(torn().examination, [firm().examination]) == ()
    assert weigh_both(torn().examination, []) == ()
