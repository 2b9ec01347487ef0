"""What an earlier visit told as likely and the last one does not: what lasts, and what explains it."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from functools import cache
from importlib.resources import files

import pytest

from fabella.anatomy import load_lesions
from fabella.errors import InputError
from fabella.follow import Undone, lasting, told_no_longer
from fabella.record import (
    Acuity,
    Context,
    Examination,
    ImageKind,
    Imaging,
    Mechanism,
    ProcedureName,
    Setting,
    State,
)
from fabella.workup import ANY_LEVEL, Workup, run_workup
from tests.follow.notation import LEFT, RIGHT, graded, operation, visit

ACL = "acl_tear"
TORN = (
    graded("effusion", "large"),
    graded("lachman", "2+"),
    graded("lachman_end_point", "soft"),
    graded("joint_line_tenderness_medial", State.NORMAL),
    graded("joint_line_tenderness_lateral", State.NORMAL),
)
FIRM = (
    graded("effusion", "none"),
    graded("lachman", "1+"),
    graded("lachman_end_point", "firm"),
    graded("joint_line_tenderness_medial", State.NORMAL),
    graded("joint_line_tenderness_lateral", State.NORMAL),
)


def twisted(weeks: float, *findings: object, **more: object) -> Examination:
    """A visit so many weeks after the first one, three days after a twist of the right knee with a pop."""
    fresh = weeks < 3
    seen = visit(weeks, *findings)  # type: ignore[arg-type]
    context = Context(
        setting=Setting.SPECIALIST_CLINIC,
        acuity=Acuity.ACUTE if fresh else Acuity.SUBACUTE,
        onset_days=3 + 7 * weeks,
        mechanism=Mechanism.TWIST,
        complaint=(RIGHT,),
    )
    return replace(seen, context=context, history={"pop_heard": True} if fresh else {}, **more)  # type: ignore[arg-type]


def mri(on: date | None, *shows: str, image: ImageKind = ImageKind.MRI) -> tuple[Imaging, ...]:
    """An image of the right knee that was read."""
    return (Imaging(image=image, side=RIGHT, on=on, shows=shows),)


@cache
def torn() -> Workup:
    """A knee whose ligament is told as torn."""
    return run_workup(twisted(0, *TORN))


@cache
def firm() -> Workup:
    """The same six weeks later, of which less can be felt."""
    return run_workup(twisted(6, *FIRM))


def likely(workup: Workup) -> float:
    """How likely the ligament of the right knee is told as torn."""
    assert workup.conclusion is not None
    return next(each.probability for each in workup.conclusion.knee(RIGHT).any_level() if each.lesion == ACL)


def as_told(workup: Workup, told: Mapping[tuple[str, str], float]) -> Workup:
    """The same with other probabilities of the right knee, of (lesion, level), of all else none."""
    assert workup.conclusion is not None
    knees = tuple(
        replace(
            knee,
            lesions=tuple(
                replace(each, probability=told.get((each.lesion, each.level), 0.0)) for each in knee.lesions
            ),
        )
        if knee.side is RIGHT
        else knee
        for knee in workup.conclusion.knees
    )
    return replace(workup, conclusion=replace(workup.conclusion, knees=knees))


def only(found: tuple[Undone, ...]) -> Undone:
    """The one that was found."""
    (one,) = found
    return one


def test_a_torn_ligament_that_is_told_no_longer_is_said_with_both_numbers() -> None:
    """Those of each visit by itself, and the findings that weigh most at each."""
    found = only(told_no_longer([torn(), firm()]))
    assert (found.lesion, found.side, found.then.visit, found.now.visit) == (ACL, RIGHT, 0, 1)
    assert (found.then.probability, found.now.probability) == (likely(torn()), likely(firm()))
    assert found.then.probability > 0.9
    assert found.now.probability < 0.4
    assert {each.sign for each in found.then.reasons_for[:2]} == {"lachman", "lachman_end_point"}
    assert found.now.reasons_against[0].sign == "lachman_end_point"
    assert not any(each.explained_otherwise for each in (*found.then.reasons_for, *found.now.reasons_against))


def test_a_rise_is_nothing_of_this_and_one_visit_neither() -> None:
    """The other way round nothing is undone; the conclusion of the later visit says it."""
    assert told_no_longer([torn()]) == ()
    assert told_no_longer([run_workup(twisted(0, *FIRM)), run_workup(twisted(6, *TORN))]) == ()


def test_an_operation_in_between_explains_it() -> None:
    """On that knee, and not before the first visit; one on the other knee explains nothing."""
    for side, weeks, explains in ((RIGHT, 2, True), (RIGHT, 0, True), (LEFT, 2, False), (RIGHT, -30, False)):
        done = operation(ProcedureName.ACL_RECONSTRUCTION, side, weeks=weeks)
        later = twisted(6, *FIRM)
        later = replace(later, context=replace(later.context, procedure=done))
        now = as_told(run_workup(later), {(ACL, ANY_LEVEL): 0.3})
        assert bool(told_no_longer([torn(), now])) is not explains, (side, weeks)


@pytest.mark.parametrize(
    "name",
    [ProcedureName.EXERCISE_PROGRAMME, ProcedureName.STRETCHING_PROGRAMME],
    ids=lambda each: each.value,
)
def test_a_programme_of_exercises_is_no_operation(name: ProcedureName) -> None:
    """Begun in between, as after most torn ligaments that are not operated on, it explains nothing."""
    later = twisted(6, *FIRM)
    done = operation(name, RIGHT, weeks=2)
    now = run_workup(replace(later, context=replace(later.context, procedure=done)))
    assert only(told_no_longer([torn(), now])).lesion == ACL


def test_an_operation_of_which_only_the_history_tells_explains_it_too() -> None:
    """A no that became a yes, and a prosthesis; not what was true then, nor what was never asked before."""
    cases: tuple[tuple[dict[str, bool], dict[str, bool], bool], ...] = (
        ({"previous_surgery": False}, {"previous_surgery": True}, True),
        ({}, {"knee_prosthesis": True}, True),
        ({"previous_surgery": True}, {"previous_surgery": True}, False),
        ({}, {"previous_surgery": True}, False),
        ({"previous_surgery": False}, {"previous_surgery": False}, False),
    )
    for before, after, explains in cases:
        then = replace(torn(), examination=replace(torn().examination, history=before))
        now = replace(firm(), examination=replace(firm().examination, history=after))
        assert bool(told_no_longer([then, now])) is not explains, (before, after)


def test_an_image_in_between_explains_it_if_it_could_show_the_lesion() -> None:
    """Read now or at a visit in between; not one that was read then, waits to be read, or cannot show it."""
    after = date(2025, 1, 20)
    read = told_no_longer([torn(), run_workup(twisted(6, *FIRM, imaging=mri(after)))])
    assert read == ()
    between = run_workup(twisted(3, *FIRM, imaging=mri(after)))
    assert told_no_longer([torn(), between, firm()]) == ()
    waiting = tuple(replace(each, shows=None) for each in mri(after))
    assert only(told_no_longer([torn(), run_workup(twisted(6, *FIRM, imaging=waiting))])).lesion == ACL
    veins = mri(after, image=ImageKind.VEIN_ULTRASOUND)
    assert only(told_no_longer([torn(), run_workup(twisted(6, *FIRM, imaging=veins))])).lesion == ACL


def test_an_image_that_told_it_then_and_is_not_stated_now_does_not_explain_it() -> None:
    """It is the strongest finding of then, and counts for nothing now; stated again it counts at both."""
    shown = mri(date(2025, 1, 6), ACL)
    then = run_workup(twisted(0, *TORN, imaging=shown))
    found = only(told_no_longer([then, firm()]))
    assert (found.then.reasons_for[0].sign, found.then.reasons_for[0].image) == ("mri", True)
    again = only(told_no_longer([then, run_workup(twisted(6, *FIRM, imaging=shown))]))
    assert again.now.probability > 2 * found.now.probability
    assert any(each.image for each in again.now.reasons_for)


@pytest.mark.parametrize(
    ("complete", "before", "now", "told"),
    [
        (0.50, 0.50, 0.40, True),
        (0.50, 0.50, 0.41, False),  # by less than a tenth
        (0.95, 0.95, 0.49, True),
        (0.95, 0.95, 0.50, False),  # one acts on it as before
        (0.49, 0.49, 0.05, False),
        (0.49, 0.80, 0.05, False),  # of a partial tear nobody says that it lasts
        (0.50, 0.80, 0.05, True),
    ],
)
def test_the_line_is_where_one_acts_and_the_least_fall_a_tenth(
    complete: float, before: float, now: float, *, told: bool
) -> None:
    """`PLAN_CHANGES_AT` and `LEAST_MOVE` of the next step, both inclusive then and exclusive now."""
    then = as_told(torn(), {(ACL, "complete"): complete, (ACL, ANY_LEVEL): before})
    later = as_told(firm(), {(ACL, ANY_LEVEL): now})
    assert bool(told_no_longer([then, later])) is told


def test_what_heals_or_settles_is_left_alone() -> None:
    """A medial ligament mends and an effusion of gout goes: no lesion that is not listed is ever told."""
    everything = {(each.id, ANY_LEVEL): 0.9 for each in load_lesions().values()}
    everything |= {(each.id, level.id): 0.9 for each in load_lesions().values() for level in each.levels}
    found = told_no_longer([as_told(torn(), everything), as_told(firm(), {})])
    assert {each.lesion for each in found} == set(lasting())
    assert not {"mcl_tear", "crystal_arthritis", "septic_arthritis", "tibial_plateau_fracture"} & set(
        lasting()
    )


def test_of_several_visits_the_surest_is_told_whatever_came_after_it() -> None:
    """Also where the one in between, or a visit without a word of this knee, told less."""
    less = as_told(run_workup(twisted(2, *FIRM)), {(ACL, "complete"): 0.7, (ACL, ANY_LEVEL): 0.7})
    nothing = run_workup(visit(7, graded("lachman", "0", side=LEFT)))
    for visits in ([torn(), less, firm()], [less, torn_in(3), firm()]):
        found = only(told_no_longer(visits))
        assert visits[found.then.visit].conclusion is not None
        assert found.then.probability == max(likely(each) for each in (visits[0], visits[1]))
    assert only(told_no_longer([torn(), firm(), nothing])).now.visit == 1


def torn_in(weeks: float) -> Workup:
    """A knee whose ligament is told as torn at a later visit."""
    return run_workup(twisted(weeks, *TORN))


def test_visits_out_of_order_or_without_a_conclusion() -> None:
    """Out of order is refused, as by the course; an examination alone has told nothing."""
    with pytest.raises(InputError, match="is earlier than the visit before it"):
        told_no_longer([firm(), torn()])
    assert told_no_longer([torn().examination, firm()]) == ()


def test_the_list_names_lesions_and_levels_and_says_what_each_rests_on() -> None:
    """Every row has a lesion with these levels and its basis; none stands there twice."""
    text = files("fabella.follow").joinpath("lasting.toml").read_text("utf-8")
    rows = tomllib.loads(text)["lasting"]
    assert len(rows) == len(lasting()) > 10
    for row in rows:
        assert row.keys() <= {"lesion", "levels", "basis"}
        assert {each.id for each in load_lesions()[row["lesion"]].levels} > set(row.get("levels", ()))
        assert row["basis"].startswith(("judgement", "published"))
