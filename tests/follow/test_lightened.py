"""A workup with only what following asks for is followed as the whole one is."""

from __future__ import annotations

import pickle

from fabella.anatomy import load_lesions
from fabella.follow import follow, lightened, tells_lasting
from fabella.report import build_letter, build_summary
from fabella.report.course_words import course_words
from fabella.workup import Workup, run_workup
from tests.follow.notation import EDITION, PROTOCOL
from tests.follow.test_undone import ACL, firm, mri, torn, twisted
from tests.report.test_undone_words import WRITTEN_ON


def imaged() -> Workup:
    """The torn knee with the image that shows it."""
    return run_workup(twisted(0, *torn().examination.findings, imaging=mri(None, ACL)))


def test_the_course_of_light_workups_is_that_of_whole_ones() -> None:
    """Every series, what is told no longer with its reasons, and the words about it."""
    for whole in ([torn(), firm()], [imaged(), firm()]):
        light = [lightened(each) for each in whole]
        course = follow(whole, edition=EDITION, protocol=PROTOCOL)
        assert course.undone
        again = follow(light, edition=EDITION, protocol=PROTOCOL)
        for name in ("measures", "grades", "lesions", "totals", "standings", "undone", "visits"):
            assert getattr(again, name) == getattr(course, name), name
        lesions = load_lesions()
        assert course_words(again, protocol=PROTOCOL, lesions=lesions, visits=light) == course_words(
            course, protocol=PROTOCOL, lesions=lesions, visits=whole
        )


def test_a_letter_and_a_page_are_the_same_beside_light_workups() -> None:
    """What they say of an earlier visit does not depend on how much of it was kept."""
    for build in (build_letter, build_summary):
        whole = build(firm(), written_on=WRITTEN_ON, earlier=[torn()])
        assert build(firm(), written_on=WRITTEN_ON, earlier=[lightened(torn())]) == whole


def test_it_is_small_enough_to_be_kept_for_many_visits() -> None:
    """Less than a quarter of the whole, and without what following does not ask for."""
    light = lightened(torn())
    assert len(pickle.dumps(light)) < len(pickle.dumps(torn())) / 4
    assert (light.alarms, light.advice) == ((), None)


def test_whether_a_visit_told_anything_that_lasts() -> None:
    """Which says, before anything else is asked, that a later visit has nothing to weigh it with."""
    assert tells_lasting(torn())
    assert tells_lasting(lightened(torn()))
    assert not tells_lasting(firm())
