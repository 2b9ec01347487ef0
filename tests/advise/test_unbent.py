"""No film asks for a knee to be bent that must not be bent."""

from __future__ import annotations

from fabella.advise.unbent import BENDING, SKYLINE
from fabella.anatomy import Side
from fabella.evidence.knowledge import load_knowledge
from fabella.protocol import load_protocol
from fabella.record import Acuity, Examination, Mechanism
from fabella.workup import run_workup
from tests.advise.cases import LEFT, RIGHT
from tests.flags.build import Found, exam


def films(examination: Examination) -> dict[Side, str]:
    """The films that are named of each knee."""
    advice = run_workup(examination).advice
    assert advice is not None
    return {each.side: each.name for each in (*advice.first, *advice.images) if each.id == "radiograph"}


def test_the_evidence_names_the_view_among_the_films() -> None:
    """Else nothing would be left out, and nobody would know."""
    names = {each.name for each in load_knowledge().images if each.image == "radiograph"}
    assert names == {f"plain radiographs (two views{SKYLINE})"}
    assert load_protocol().sign(BENDING).avoid_when


def test_a_knee_that_must_not_be_bent_is_filmed_without_the_skyline_view() -> None:
    """A torn extensor mechanism is not bent for a film; the worn knee beside it has all three views."""
    torn: dict[str, Found] = {"straight_leg_raise": "unable"}
    alone = exam(torn, {}, age=60, acuity=Acuity.ACUTE, mechanism=Mechanism.FORCED_QUADRICEPS, days=2)
    assert films(alone)[RIGHT] == "plain radiographs (two views)"
    worn: dict[str, Found] = {
        "crepitus": "coarse",
        "joint_line_tenderness_medial": True,
        "passive_flexion": 100.0,
    }
    quiet = exam(worn, worn, age=70, acuity=Acuity.CHRONIC, complaint=(LEFT, RIGHT), days=900)
    assert films(quiet) == dict.fromkeys((LEFT, RIGHT), f"plain radiographs (two views{SKYLINE})")
