"""Plain films stand before magnetic resonance imaging (ACR 2018 of chronic pain, 2019 of injuries)."""

from __future__ import annotations

import pytest

from fabella.advise import Advice, NextStep, OrderedBy, Precedes, worth_doing
from fabella.anatomy import Side, load_lesions
from fabella.record import Acuity, Examination, Mechanism, Setting
from fabella.report.plan_words import plan_words
from fabella.workup import run_workup
from tests.advise.cases import LEFT, RIGHT
from tests.flags.build import exam

UNSTABLE = exam({"patellar_apprehension": True}, age=16, acuity=Acuity.CHRONIC, complaint=(RIGHT,))
SNAPPING = exam({"lateral_snap": True, "effusion": False}, age=11, acuity=Acuity.CHRONIC, complaint=(RIGHT,))
CATCHING = exam(
    {"mcmurray_medial": True, "joint_line_tenderness_medial": True},
    age=30,
    acuity=Acuity.CHRONIC,
    complaint=(LEFT, RIGHT),
)
SORE = exam(
    {"tenderness_tibial_tubercle": True, "tubercle_prominent": True},
    age=13,
    acuity=Acuity.CHRONIC,
    complaint=(RIGHT,),
)
FULL = exam(
    {
        "effusion": "moderate",
        "lachman": False,
        "mcmurray": False,
        "warmth": False,
        "joint_line_tenderness_medial": False,
        "joint_line_tenderness_lateral": False,
    },
    person={"other_joints_swollen": False},
    said={"intermittent_swelling": True, "swelling_noticed": True, "morning_stiffness_min": 5.0}
    | dict.fromkeys(("other_joints_painful", "fever", "locking", "previous_injury", "tick_exposure"), False),
    age=27,
    days=700,
    acuity=Acuity.CHRONIC,
    mechanism=Mechanism.INSIDIOUS,
    setting=Setting.SPECIALIST_CLINIC,
)


def images(examination: Examination, side: Side) -> list[NextStep]:
    """Return the images of one knee in their order."""
    advice = run_workup(examination).advice
    assert advice is not None
    return [each for each in (*advice.first, *advice.images) if each.side is side]


@pytest.mark.parametrize(
    ("examination", "side"), [(UNSTABLE, RIGHT), (SNAPPING, RIGHT), (CATCHING, LEFT), (CATCHING, RIGHT)]
)
def test_films_stand_before_magnetic_resonance_imaging(examination: Examination, side: Side) -> None:
    """They stand there once, of every knee that is imaged so, and name the criteria that say it."""
    named = images(examination, side)
    names = [each.id for each in named]
    assert names.count("radiograph") == 1
    assert names.index("radiograph") < names.index("mri")
    film = named[names.index("radiograph")]
    if isinstance(film.purpose, Precedes):
        assert sum(each.startswith("ACR") for each in film.sources) == 2


def test_films_that_nothing_else_asks_for_say_what_they_come_before() -> None:
    """A snapping knee at 11: the disc is seen on magnetic resonance imaging, after the films."""
    film, scan = images(SNAPPING, RIGHT)[:2]
    assert film.purpose == Precedes(scan.name)
    assert scan.id == "mri"


def test_the_plan_names_what_its_films_are_taken_before() -> None:
    """A knee full for two years without a cause is scanned for its synovium, though ultrasound is quicker."""
    advice = run_workup(FULL).advice
    assert advice is not None
    assert [each.id for each in images(FULL, RIGHT)] == ["radiograph", "ultrasound", "mri"]
    told = plan_words(advice, load_lesions()).images
    assert [words.split(":")[0].split(" (")[0] for words in told] == [
        "plain radiographs",
        "ultrasound of the tendons and soft tissues",
        "magnetic resonance imaging",
    ]
    assert "synovial proliferation" in told[-1]


def test_a_knee_without_magnetic_resonance_imaging_needs_no_films_for_it() -> None:
    """A sore and prominent tubercle at 13 is imaged neither way."""
    assert not any(isinstance(each.purpose, Precedes) for each in images(SORE, RIGHT))


def test_films_wait_with_what_they_precede() -> None:
    """Beside what cannot wait today, films whose scan has no room have none either."""
    workup = run_workup(SNAPPING)
    rule = next(each for each in run_workup(exam({"straight_leg_raise": "unable"})).alarms if each.is_met)
    assert workup.advice is not None

    def left(advice: Advice) -> set[str]:
        return {each.id for each in worth_doing(advice, (rule,)).images}

    film, scan, *_ = workup.advice.images
    assert left(Advice(bedside=(), images=(film, scan), withheld=(), enough=True)) == {"radiograph", "mri"}
    assert left(Advice(bedside=(), images=(film,), withheld=(), enough=True)) == set()
    assert not isinstance(film.purpose, OrderedBy)
