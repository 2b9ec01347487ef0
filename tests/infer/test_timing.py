"""A wound of today is not infected yet: bites show it after 8 to 24 hours (common practice)."""

from __future__ import annotations

import pytest

from fabella.record import Acuity, Mechanism, Setting
from fabella.workup import run_workup
from tests.flags.build import RIGHT, Found, exam

BITTEN = Mechanism.PENETRATING


def infected(days: float | None, mechanism: Mechanism, findings: dict[str, Found] | None = None) -> float:
    """Return the chance of an infected bursa in front of a knee so many days after it began."""
    examination = exam(
        findings, days=days, acuity=Acuity.ACUTE, mechanism=mechanism, setting=Setting.EMERGENCY
    )
    conclusion = run_workup(examination).conclusion
    assert conclusion is not None
    told = {(each.lesion, each.level): each.probability for each in conclusion.knee(RIGHT).lesions}
    return told["prepatellar_bursitis", "septic"]


def test_a_wound_of_today_is_hardly_ever_infected() -> None:
    """Before anything is found an infection is at most a quarter as likely as it is two days later."""
    assert infected(0, BITTEN) < infected(2, BITTEN) / 4


def test_what_began_today_by_itself_may_be_an_infection() -> None:
    """Days count from when it began: without an injury there is nothing to wait for."""
    assert infected(0, Mechanism.INSIDIOUS) == pytest.approx(infected(2, Mechanism.INSIDIOUS))


def test_where_the_day_is_unknown_nothing_is_held_against_an_infection() -> None:
    """A wound of an unknown day counts as one of some days."""
    assert infected(None, BITTEN) == pytest.approx(infected(2, BITTEN))


def test_a_wound_that_is_inflamed_already_is_still_told_as_infected() -> None:
    """Some bites are inflamed within hours: what is found outweighs the clock."""
    found: dict[str, Found] = {"prepatellar_swelling": True, "erythema": "marked", "warmth": "hot"}
    assert infected(0, BITTEN, found) > 0.4
