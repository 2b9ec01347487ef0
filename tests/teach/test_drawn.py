"""The living figure of a practice patient is drawn from what a student may see, and from nothing else."""

from dataclasses import fields

import pytest

from fabella.anatomy import Side
from fabella.figure import SeenLeg, View, WalkingLeg, living_figure, motion_tree, walk
from fabella.teach import LegLook, Look
from fabella.teach.drawn import VIEWS, seen_legs, walk_of
from fabella.teach.looks import look_at
from tests.teach.patients import patient

SEEN = {each.name for each in fields(SeenLeg)}
WALKED = {each.name for each in fields(WalkingLeg)} - {"seen"}
UNDRAWN = {"side", "deformed", "held_flexed", "foot_progression_deg", "trendelenburg"}


def test_every_field_of_a_look_is_drawn_or_named_as_undrawn() -> None:
    """A field added to what is seen must be drawn, or be listed here as missing from the figure."""
    assert {each.name for each in fields(LegLook)} == SEEN | WALKED | UNDRAWN


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("position", [each for each in VIEWS if each != "walking"])
def test_legs_are_drawn_as_they_look(seed: int, position: str) -> None:
    """Each leg carries what is seen of it, what is not seen is as usual, and every view can be drawn."""
    look = look_at(patient(seed), position)
    assert look is not None
    legs = seen_legs(look)
    for leg, seen in ((legs.right, look.right), (legs.left, look.left)):
        for name in SEEN:
            known = getattr(seen, name)
            assert getattr(leg, name) == (getattr(SeenLeg(), name) if known is None else known)
    assert all(living_figure(legs, view).startswith("<svg") for view in VIEWS[position])


@pytest.mark.parametrize("seed", range(6))
def test_a_walk_is_drawn_as_it_looks(seed: int) -> None:
    """Cadence, stance and bend are those of the look, and the stride can be drawn from the side."""
    look = look_at(patient(seed), "walking")
    assert look is not None
    how = walk_of(look)
    assert how.cadence_per_min == look.cadence_per_min
    for leg, seen in ((how.right, look.right), (how.left, look.left)):
        assert leg.stance_share_pct == seen.stance_share_pct
        assert leg.peak_flexion_deg == seen.peak_flexion_deg
        assert leg.thrust == seen.thrust
    assert motion_tree(walk(how, View.LEFT))["loops"]


def test_what_is_not_seen_is_drawn_as_usual() -> None:
    """A look that shows nothing gives sound legs."""
    nothing = Look(position="standing", right=LegLook(side=Side.RIGHT), left=LegLook(side=Side.LEFT))
    assert seen_legs(nothing).right == seen_legs(nothing).left == SeenLeg()
