"""Hands are held against what was seen later, never against images that had told it before."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from fabella.anatomy import Side
from fabella.evidence.knowledge import load_knowledge
from fabella.hands import Confirmation, Method, audit, by_hands
from fabella.record import Examination, ImageKind, Imaging
from fabella.workup import run_workup
from tests.flags.build import LEFT, RIGHT, exam

DAY = date(2025, 6, 30)
LAX = replace(exam({"lachman": "2+"}, age=24, days=9), examined_on=DAY)


def imaged(image: ImageKind, side: Side = RIGHT, **what: object) -> Examination:
    """The lax knee with one image."""
    return replace(LAX, imaging=(Imaging(image=image, side=side, **what),))  # type: ignore[arg-type]


def test_what_an_image_showed_is_no_merit_of_the_hands() -> None:
    """The conclusion by hands is that of the examination without its images; the record keeps them."""
    scanned = imaged(ImageKind.MRI, shows=("acl_tear",))
    alone, told = by_hands(scanned), run_workup(scanned)
    assert alone.examination == scanned
    assert alone.conclusion == run_workup(LAX).conclusion
    assert alone.conclusion != told.conclusion
    assert alone.alarms == run_workup(LAX).alarms


@pytest.mark.parametrize(
    ("examination", "left_out"),
    [
        (LAX, False),
        (imaged(ImageKind.MRI, shows=()), True),
        (imaged(ImageKind.MRI, shows=("acl_tear",)), True),
        (imaged(ImageKind.MRI, shows=("acl_tear",), limited=True), True),
        (imaged(ImageKind.MRI, shows=None), False),
        (imaged(ImageKind.RADIOGRAPH, shows=()), False),
        (imaged(ImageKind.MRI, LEFT, shows=()), False),
        (imaged(ImageKind.MRI, shows=(), on=DAY - timedelta(days=30)), False),
    ],
)
def test_a_knee_examined_with_its_scan_in_hand_is_left_out(examination: Examination, left_out: bool) -> None:
    """Films are there before most examinations and leave the hands in; a scan of another time does, too."""
    seen = Confirmation(
        examination=examination.id,
        side=RIGHT,
        on=DAY,
        method=Method.ARTHROSCOPY,
        found={"acl_tear": "complete"},
    )
    hands = audit([by_hands(examination)], [seen], knowledge=load_knowledge())
    assert hands.confirmed == (0 if left_out else 1)
    assert hands.foreknown == ((examination.id,) if left_out else ())
