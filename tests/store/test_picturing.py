"""Pictures on which something was measured: kept with the entry that they give, and only ever added to."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from django.db import DatabaseError

from fabella.anatomy import Side
from fabella.errors import InputError
from fabella.store import Frozen, Moved, NotAllowed, NotThere, Role
from fabella.store.clinic.charting import save
from fabella.store.clinic.models import Entry, Trace, Visit
from fabella.store.clinic.picture_models import MeasuredPicture
from fabella.store.clinic.picturing import MOST_BYTES, Taken, keep_picture, picture_of, pictures_of
from fabella.store.clinic.sheets import examination_of, sheet_of
from fabella.store.clinic.signing import sign
from fabella.store.clinic.verifying import verify
from tests.store.drawn import FLEXION, ID, MEASURED, TAKEN
from tests.store.people import ANN, BEGUN, BEN, NOW, STRANGER, TODAY, actor, batch, finding, new_visit


def keep(visit: int, taken: Taken = TAKEN, **other: Any) -> int:
    """Keep a picture of a visit that has just begun."""
    given: dict[str, Any] = {"id_": ID, "base": BEGUN, "now": NOW, "who": ANN} | other
    return keep_picture(given.pop("who"), visit, taken, **given)


def test_a_picture_is_kept_with_its_points_and_its_entry(database: str) -> None:
    """Picture, points, values, errors and remarks come back as they were, and the finding is in the visit."""
    assert database
    visit = new_visit()
    assert keep(visit) == 1
    (listed,) = pictures_of(BEN, visit)
    kept, jpeg = picture_of(BEN, visit, 1)
    assert listed == kept
    assert (kept.number, kept.shown, kept.at) == (1, "Ann", NOW)
    assert kept.measurement == replace(MEASURED, points=dict(MEASURED.points))
    assert (kept.stated, kept.remarks, jpeg) == (FLEXION, ("Drawn.",), TAKEN.jpeg)
    row = Visit.objects.get()
    stated = examination_of(row, sheet_of(row)).finding("passive_flexion", Side.RIGHT)
    assert stated is not None
    assert (stated.value, stated.unit, stated.method) == (90, "deg", FLEXION["method"])
    assert Entry.objects.filter(operation=ID).count() == 1
    assert verify(ANN).faults == ()


def test_the_same_picture_sent_again_is_kept_once(database: str) -> None:
    """A repeat under one id adds no row, no entry and no line; another under that id is refused."""
    assert database
    visit = new_visit()
    keep(visit)
    before = (Entry.objects.count(), Trace.objects.count())
    assert keep(visit, now=NOW + timedelta(minutes=1)) == 1
    assert (MeasuredPicture.objects.count(), Entry.objects.count(), Trace.objects.count()) == (1, *before)
    with pytest.raises(Moved):
        keep(visit, replace(TAKEN, finding={**FLEXION, "value": 91}))
    assert keep(visit, id_="picture-for-tests-000002", base=BEGUN + 1) == 2


@pytest.mark.usefixtures("files")
def test_nothing_is_overwritten_unseen() -> None:
    """What was stated since the page was read stays, also by the same hand; the value is kept beside it."""
    visit = new_visit()
    save(ANN, visit, batch(finding({**FLEXION, "value": 120, "method": "long goniometer"})), now=NOW)
    keep(visit)
    (conflict,) = sheet_of(Visit.objects.get()).conflicts.values()
    assert len(conflict) == 1
    assert len(pictures_of(ANN, visit)) == 1


@pytest.mark.usefixtures("files")
def test_a_finding_that_cannot_stand_keeps_nothing() -> None:
    """A value outside of the protocol's range is refused with its picture, and so is too large a picture."""
    visit = new_visit()
    for wrong in (
        replace(TAKEN, finding={**FLEXION, "value": 400}),
        replace(TAKEN, jpeg=bytes(MOST_BYTES + 1)),
    ):
        with pytest.raises(InputError):
            keep(visit, wrong)
    assert (MeasuredPicture.objects.count(), Visit.objects.get().version) == (0, BEGUN)


@pytest.mark.usefixtures("files")
def test_a_picture_without_a_sign_is_kept_by_itself() -> None:
    """Where the protocol has no sign for what was measured, the picture is kept and nothing entered."""
    visit = new_visit()
    keep(visit, replace(TAKEN, finding=None))
    assert (len(pictures_of(ANN, visit)), Visit.objects.get().version) == (1, BEGUN)
    assert verify(ANN).faults == ()


def test_a_signed_visit_takes_no_picture(database: str) -> None:
    """Neither through the program nor past it."""
    assert database
    visit = new_visit()
    keep(visit)
    sign(ANN, visit, version=BEGUN + 1, addressee="", today=TODAY, now=NOW)
    with pytest.raises(Frozen):
        keep(visit, id_="picture-for-tests-000002", base=BEGUN + 1)
    row = MeasuredPicture.objects.get()
    row.id, row.number, row.operation = None, 2, "slipped-in-later-1"  # type: ignore[assignment]
    with pytest.raises(DatabaseError, match="a signed examination takes no entries"):
        row.save(force_insert=True)


@pytest.mark.usefixtures("files")
def test_others_see_and_keep_nothing() -> None:
    """A picture belongs to the clinicians of the patient's service, as the visit does."""
    visit = new_visit()
    keep(visit)
    student = actor("sam", Role.STUDENT, Role.TEACHER, Role.ADMINISTRATOR, Role.EXAMINER)
    for who, refusal in ((STRANGER, NotThere), (student, NotAllowed)):
        for deed in (
            lambda who=who: pictures_of(who, visit),
            lambda who=who: picture_of(who, visit, 1),
            lambda who=who: keep(visit, who=who),
        ):
            with pytest.raises(refusal):
                deed()
    with pytest.raises(NotThere):
        picture_of(ANN, visit, 2)
