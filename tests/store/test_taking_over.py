"""What a later visit takes over from an earlier one, and what has to be asked again."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from fabella.anatomy import Side
from fabella.flags import cannot_wait
from fabella.protocol import load_protocol
from fabella.record import Examination, Mechanism
from fabella.store import NotThere
from fabella.store.clinic.charting import save
from fabella.store.clinic.details import VisitDetails
from fabella.store.clinic.visits import begin_visit, examination_now, see_visit
from tests.store.people import ANN, LATER, LAX, NOW, TODAY, answer, batch, finding, new_patient, new_visit

pytestmark = pytest.mark.usefixtures("database")

WEEKS_LATER = TODAY + timedelta(weeks=7)


def context(name: str, value: Any) -> dict[str, Any]:
    """An operation that states how the trouble came about."""
    asked = answer(name, value)
    del asked["item"]
    return {**asked, "change": "set_context", "field": name}


def told(*operations: dict[str, Any]) -> tuple[int, int]:
    """A patient with a visit of today, complaining of the right knee, and what was told at it."""
    patient = new_patient()
    visit = new_visit(patient=patient)
    for each in operations:
        (result,) = save(ANN, visit, batch(each), now=LATER).results
        assert result.version is not None, result
    return patient, visit


def later(
    patient: int, visit: int | None, *complaint: Side, day: date = WEEKS_LATER
) -> tuple[int, Examination]:
    """A visit that takes over from an earlier one, and what stands on it before anybody states anything."""
    details = VisitDetails(day=day, complaint=complaint)
    begun = begin_visit(ANN, patient, details, take_over=visit, now=LATER)
    return begun, examination_now(ANN, begun)


INJURED = (
    context("mechanism", "twist"),
    context("onset_days", 2),
    answer("pop_heard", True),
    answer("giving_way", True),
    answer("diabetes", True),
    answer("anticoagulant", False),
    finding(LAX),
)


def test_how_it_came_about_lasts_and_the_days_go_on() -> None:
    """Seven weeks later a twist of two days is one of 51, and what was felt on that day stands."""
    _, held = later(*told(*INJURED), Side.RIGHT)
    assert (held.context.mechanism, held.context.onset_days) == (Mechanism.TWIST, 51)
    assert dict(held.history) == {"pop_heard": True, "diabetes": True}
    assert held.findings == ()


def test_of_another_knee_only_what_is_of_the_person_lasts() -> None:
    """The left knee was not twisted because the right one was."""
    _, held = later(*told(*INJURED, answer("knee_prosthesis", True)), Side.LEFT)
    assert (held.context.mechanism, held.context.onset_days) == (None, None)
    assert dict(held.history) == {"diabetes": True}


def test_a_twist_of_which_nobody_knows_when_is_asked_about_again() -> None:
    """Without its day an injury would look as fresh as it did then."""
    _, held = later(*told(context("mechanism", "twist"), answer("pop_heard", True)), Side.RIGHT)
    assert (held.context.mechanism, dict(held.history)) == (None, {})


def test_a_replaced_knee_is_still_replaced_at_the_next_visit() -> None:
    """Hot at the second visit, it meets the rule for a replacement though nobody asked a second time."""
    begun, _ = later(*told(answer("knee_prosthesis", True)), Side.RIGHT)
    hot = {"sign": "warmth", "side": "right", "state": "abnormal", "level": "hot"}
    save(ANN, begun, batch(finding(hot, base=2)), now=LATER)
    alarms = cannot_wait(examination_now(ANN, begun), protocol=load_protocol())
    met = {each.rule for each in alarms if each.verdict == "met"}
    assert "prosthetic_joint_infection" in met


def test_nothing_is_taken_over_unasked_or_backwards() -> None:
    """Neither without being asked for, nor onto a visit of an earlier day."""
    patient, visit = told(*INJURED)
    for held in (
        later(patient, None, Side.RIGHT)[1],
        later(patient, visit, Side.RIGHT, day=TODAY - timedelta(days=9))[1],
    ):
        assert (held.context.mechanism, dict(held.history)) == (None, {})


def test_from_somebody_else_nothing_is_taken_over() -> None:
    """A visit of another patient is no earlier visit, and nothing is begun."""
    _, visit = told(*INJURED)
    other = new_patient(number="K-2")
    with pytest.raises(NotThere):
        later(other, visit, Side.RIGHT)


def test_taking_over_twice_begins_one_visit() -> None:
    """A button pressed twice leads to the visit that the first press began."""
    patient, visit = told(*INJURED)
    first, _ = later(patient, visit, Side.RIGHT)
    assert later(patient, visit, Side.RIGHT)[0] == first
    assert see_visit(ANN, first, now=NOW).line.version == 5
