"""Letter, course and page say where an earlier visit told what this one does not, though it lasts."""

from __future__ import annotations

import re
from datetime import date

import pytest

from fabella.anatomy import load_lesions
from fabella.follow import follow
from fabella.report import as_text, build_letter, build_summary, letter_document, summary_document
from fabella.report.course_words import course_words
from fabella.report.undone_words import no_longer_told
from fabella.stats.written import percentage
from fabella.workup import Workup, run_workup
from tests.follow.notation import EDITION, PROTOCOL, RIGHT, graded
from tests.follow.test_undone import ACL, FIRM, TORN, firm, likely, mri, torn, twisted
from tests.report.test_summary import HIGHEST_GRADE, grade

WRITTEN_ON = date(2025, 2, 17)
REASSURED = "We did not find signs of a serious injury"


def letter_of(now: Workup, *earlier: Workup) -> str:
    """The whole letter on one line."""
    letter = build_letter(now, written_on=WRITTEN_ON, earlier=earlier)
    return " ".join(as_text(letter_document(letter, drawn=False)).split())


def page_of(now: Workup, *earlier: Workup) -> str:
    """The whole patient's page on one line."""
    page = build_summary(now, written_on=WRITTEN_ON, earlier=earlier)
    return " ".join(as_text(summary_document(page, drawn=False)).split())


def test_the_letter_says_both_numbers_with_what_they_rest_on() -> None:
    """As the letter of each visit has them, beside the conclusion about that knee; once."""
    told = letter_of(firm(), torn())
    then, now = percentage(likely(torn())), percentage(likely(firm()))
    said = (
        f"Earlier visit: Anterior cruciate ligament tear, right knee: {then} on 6 January 2025 (for it: soft "
        f"end point on Lachman; Lachman 2+; effusion, large), {now} on 17 February 2025 (against it: Lachman "
        "end point normal; no effusion). It does not go away unnoticed, and no operation or image on record "
        "in between explains the difference: one examination does not undo the other. Weigh both, or image "
        "the knee."
    )
    assert told.count(said) == 1
    assert f"anterior cruciate ligament tear, {then}" in letter_of(torn())
    assert f"nterior cruciate ligament tear {now}" in letter_of(firm()) or f"tear, {now}" in letter_of(firm())
    conclusion = told.partition("CONCLUSION")[2].partition("PLAN")[0]
    assert conclusion.index("Right knee:") < conclusion.index(said) < conclusion.index("Left knee:")


def test_without_it_the_letter_is_what_it_was() -> None:
    """Of a first visit, of one that tells more than the one before, and beside an earlier file alone."""
    for now, earlier in ((firm(), ()), (run_workup(twisted(6, *TORN)), (torn(),))):
        assert "Earlier visit:" not in letter_of(now, *earlier)
    letter = build_letter(firm(), written_on=WRITTEN_ON, earlier=[torn().examination])
    assert letter.weigh_both == ()
    assert letter.since == build_letter(firm(), written_on=WRITTEN_ON, earlier=[torn()]).since


@pytest.mark.parametrize(
    ("then", "now", "end"),
    [
        (False, False, "Weigh both, or image the knee."),
        (True, False, "Weigh both; the image of then counts now only where it is stated again."),
        (True, True, "does not undo the other. Weigh both."),
    ],
)
def test_who_has_an_image_is_not_asked_for_one(end: str, *, then: bool, now: bool) -> None:
    """An image of then has to be stated again; only without any is one asked for."""
    shown = mri(date(2025, 1, 6), ACL)
    before = run_workup(twisted(0, *TORN, imaging=shown if then else ()))
    after = run_workup(twisted(6, *FIRM, imaging=shown if now else ()))
    (told,) = no_longer_told(after, [before])
    assert (told.side, told.lesion, told.day) == (RIGHT, ACL, date(2025, 1, 6))
    assert told.words.endswith(end)
    assert ("seen on MRI" in told.words) is then


def test_the_course_says_the_same() -> None:
    """Word for word, and nothing of visits that told alike."""
    for visits, count in (((torn(), firm()), 1), ((torn(), torn_again()), 0)):
        course = follow(visits, edition=EDITION, protocol=PROTOCOL)
        words = course_words(course, protocol=PROTOCOL, lesions=load_lesions(), visits=visits)
        assert words.weigh_both == tuple(each.words for each in no_longer_told(visits[1], visits[:1]))
        assert len(words.weigh_both) == count


def torn_again() -> Workup:
    """The torn knee six weeks later."""
    return run_workup(twisted(6, *TORN))


def test_the_patients_page_does_not_reassure_over_it() -> None:
    """Neither where a cause is named nor where none is; it names nothing more, and is as easy to read."""
    sound = run_workup(
        twisted(6, *FIRM[:1], graded("lachman", "0"), graded("pivot_shift", "none"), *FIRM[2:])
    )
    both = "At an earlier visit more seemed wrong. One check alone does not settle this, so we go by both."
    assert REASSURED in page_of(sound)
    for now in (firm(), sound):
        told = page_of(now, torn())
        assert both in told
        assert REASSURED not in told
        assert both not in page_of(now)
        assert set(re.findall(r"\d+ in 10", told)) == set(re.findall(r"\d+ in 10", page_of(now)))
    assert max(grade(each) for each in re.split(r"(?<=\.) ", both)) <= HIGHEST_GRADE
