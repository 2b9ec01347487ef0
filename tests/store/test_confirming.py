from datetime import timedelta

import pytest

from fabella.anatomy import Side
from fabella.errors import InputError
from fabella.hands import Confirmation, Method
from fabella.store import Frozen, Moved, NotAllowed, NotThere, Role
from fabella.store.clinic.charting import save
from fabella.store.clinic.confirmation_models import Confirmation as Row
from fabella.store.clinic.confirming import (
    confirm,
    confirmations_by_visit,
    confirmations_of,
    standing,
    withdraw,
)
from fabella.store.clinic.details import VisitDetails
from fabella.store.clinic.models import Trace
from fabella.store.clinic.own_visits import own_visits
from fabella.store.clinic.signing import amend, sign
from fabella.store.clinic.verifying import verify
from fabella.store.clinic.visits import begin_visit
from tests.store.people import (
    ANN,
    BEN,
    LATER,
    LAX,
    NOW,
    STRANGER,
    TODAY,
    actor,
    batch,
    finding,
    new_patient,
    new_visit,
)

pytestmark = pytest.mark.usefixtures("database")

WEEK = timedelta(days=7)
SCANNED = TODAY + WEEK
MRI: dict[str, object] = {
    "side": "right",
    "on": str(SCANNED),
    "method": "mri",
    "found": {"acl_tear": "complete", "pcl_tear": "absent"},
    "by": "Dr Made Up",
}


def signed_visit(number: str = "K-1") -> int:
    """A visit with one finding, signed by Ann."""
    visit = new_visit(patient=new_patient(number=number))
    save(ANN, visit, batch(finding(LAX)), now=NOW)
    sign(ANN, visit, version=3, addressee="", today=TODAY, now=NOW)
    return visit


def look(visit: int, seen: dict[str, object] = MRI, **more: object) -> int:
    """Keep a look a week later, by default Ann's."""
    return confirm(ANN, visit, seen, today=SCANNED, now=NOW + WEEK, **more)  # type: ignore[arg-type]


def test_what_was_found_later_is_kept_with_its_visit() -> None:
    """It comes back as it was written, under the id of the examination, with who wrote it and when."""
    visit = signed_visit()
    assert look(visit) == 1
    (kept,) = confirmations_of(BEN, visit)
    assert kept.confirmation == Confirmation(
        examination=f"visit-{visit}",
        side=Side.RIGHT,
        on=SCANNED,
        method=Method.MRI,
        found={"acl_tear": "complete", "pcl_tear": "absent"},
        by="Dr Made Up",
    )
    assert (kept.author, kept.shown, kept.at, kept.replaces) == ("ann", "Ann", NOW + WEEK, None)
    patient = Trace.objects.order_by("-number")[0].patient_id
    assert confirmations_by_visit(BEN, patient) == {visit: (kept,)}


def test_an_open_visit_takes_none() -> None:
    """Neither one that was never signed nor one that was opened again; the refusal says what to do."""
    fresh = new_visit()
    opened = signed_visit("K-2")
    amend(ANN, opened, "a reason", now=NOW)
    for visit in (fresh, opened):
        with pytest.raises(Frozen, match="Sign it first"):
            look(visit)
        assert confirmations_of(ANN, visit) == ()


@pytest.mark.parametrize("role", [each for each in Role if each is not Role.CLINICIAN])
def test_whoever_is_no_clinician_neither_writes_nor_reads_it(role: Role) -> None:
    """Teacher, examiner, student and administrator get nothing, by any function."""
    visit = signed_visit()
    look(visit)
    other = actor("tim", role)
    for deed in (
        lambda: confirm(other, visit, MRI, today=SCANNED, now=NOW + WEEK),
        lambda: withdraw(other, visit, 1, "no", now=NOW + WEEK),
        lambda: confirmations_of(other, visit),
        lambda: confirmations_by_visit(other, 1),
        lambda: own_visits(other, silent=1, now=NOW + WEEK),
    ):
        with pytest.raises(NotAllowed):
            deed()


def test_another_service_finds_no_such_visit() -> None:
    """A clinician elsewhere can neither add to it nor read it, and it is none of theirs."""
    visit = signed_visit()
    look(visit)
    with pytest.raises(NotThere):
        confirm(STRANGER, visit, MRI, today=SCANNED, now=NOW + WEEK)
    with pytest.raises(NotThere):
        confirmations_of(STRANGER, visit)
    assert own_visits(STRANGER, silent=1, now=NOW + WEEK) == ()


def test_a_correction_takes_the_place_of_what_stood_there() -> None:
    """Both stay readable; what holds is the later one, with its reason; a place is taken once only."""
    visit = signed_visit()
    look(visit)
    better = {**MRI, "found": {"acl_tear": "partial"}}
    assert look(visit, better, replaces=1, reason="The report was  corrected") == 2
    every = confirmations_of(ANN, visit)
    assert [each.number for each in every] == [1, 2]
    (holds,) = standing(every)
    assert (holds.replaces, holds.reason) == (1, "The report was corrected")
    assert holds.confirmation is not None
    assert dict(holds.confirmation.found) == {"acl_tear": "partial"}
    with pytest.raises(Moved, match="since you read it"):
        look(visit, {**MRI, "note": "late"}, replaces=1, reason="again")
    with pytest.raises(NotThere):
        look(visit, {**MRI, "note": "lost"}, replaces=9, reason="again")


def test_a_withdrawal_leaves_nothing_that_holds() -> None:
    """What was withdrawn can be read, holds no more, and cannot be withdrawn again."""
    visit = signed_visit()
    look(visit)
    with pytest.raises(InputError, match="reason"):
        withdraw(ANN, visit, 1, "  ", now=LATER)
    assert withdraw(BEN, visit, 1, "Another patient's scan", now=NOW + WEEK) == 2
    every = confirmations_of(ANN, visit)
    assert standing(every) == ()
    assert [each.confirmation is None for each in every] == [False, True]
    with pytest.raises(Moved):
        withdraw(ANN, visit, 1, "again", now=NOW + WEEK)
    with pytest.raises(NotThere):
        withdraw(ANN, visit, 2, "again", now=NOW + WEEK)


def test_the_same_sent_twice_is_kept_once() -> None:
    """A form sent again, as after a lost answer, adds nothing; after a withdrawal it does."""
    visit = signed_visit()
    assert [look(visit), look(visit)] == [1, 1]
    withdraw(ANN, visit, 1, "too soon", now=NOW + WEEK)
    assert look(visit) == 3


def test_everything_wrong_is_said_at_once() -> None:
    """A day before the examination, a level that there is not and a missing reason come together."""
    visit = signed_visit()
    look(visit)
    wrong: dict[str, object] = {"on": "2026-11-01", "method": "smell", "found": {"acl_tear": "torn"}}
    with pytest.raises(InputError) as told:
        look(visit, wrong, replaces=1, reason="")
    assert {each.place for each in told.value.problems} == {
        "side",
        "on",
        "method",
        "found.acl_tear",
        "reason",
    }
    with pytest.raises(InputError, match="states nothing"):
        look(visit, {**MRI, "found": {}})
    with pytest.raises(InputError, match="future"):
        look(visit, {**MRI, "on": str(SCANNED + WEEK)})


def test_the_trail_tells_of_it_and_the_check_covers_it() -> None:
    """Each writing has its line, and the check finds a trail that is whole."""
    visit = signed_visit()
    look(visit)
    look(visit, {**MRI, "note": "x"}, replaces=1, reason="why")
    withdraw(ANN, visit, 2, "why not", now=NOW + WEEK)
    told = Trace.objects.filter(action="confirmed").order_by("number")
    assert [(each.actor, each.visit_id) for each in told] == [("ann", visit)] * 3
    assert '"withdrawn":true' in told[2].detail
    assert verify(ANN).faults == ()
    assert Row.objects.count() == 3


def test_own_visits_are_those_that_one_signed() -> None:
    """Ann's are hers whether looked into or not; Ben, who signed none, has none."""
    first, second = signed_visit(), signed_visit("K-2")
    look(second)
    mine = own_visits(ANN, silent=1, now=NOW + WEEK)
    assert [(each.visit.id, len(each.found)) for each in mine] == [(first, 0), (second, 1)]
    assert own_visits(BEN, silent=1, now=NOW + WEEK) == ()
    listed = Trace.objects.filter(action="listed").values_list("patient_id", flat=True)
    assert list(listed) == [mine[1].visit.patient.id, mine[0].visit.patient.id]


def test_whoever_is_not_shown_is_not_in_the_trail() -> None:
    """Of visits of which nothing was told, only the patients that are shown have a line."""
    signed_visit()
    own_visits(ANN, silent=0, now=NOW)
    assert not Trace.objects.filter(action="listed").exists()


def test_what_was_amended_with_the_result_at_hand_is_not_foretold() -> None:
    """A visit is judged as it stood signed on the day of the look, whatever was signed after it."""
    visit = signed_visit()
    before = own_visits(ANN, silent=1, now=NOW)[0].sha256
    look(visit)
    amend(ANN, visit, "felt again", now=NOW + 2 * WEEK)
    save(ANN, visit, batch(finding({**LAX, "level": "3+"}, base=3)), now=NOW + 2 * WEEK)
    sign(ANN, visit, version=4, addressee="", today=TODAY, now=NOW + 2 * WEEK)
    assert own_visits(ANN, silent=1, now=NOW + 2 * WEEK)[0].sha256 == before
    withdraw(ANN, visit, 1, "another knee", now=NOW + 2 * WEEK)
    assert own_visits(ANN, silent=1, now=NOW + 2 * WEEK)[0].sha256 != before


def test_it_belongs_to_whoever_signed_before_the_look() -> None:
    """What Ben amended and signed before the scan is his to be judged, and no longer Ann's."""
    visit = signed_visit()
    amend(BEN, visit, "felt again", now=LATER)
    sign(BEN, visit, version=3, addressee="", today=TODAY, now=LATER)
    look(visit)
    assert own_visits(ANN, silent=1, now=NOW + WEEK) == ()
    assert [each.visit.id for each in own_visits(BEN, silent=1, now=NOW + WEEK)] == [visit]


def test_what_was_known_of_the_knee_before_a_visit_goes_with_it() -> None:
    """A look told at an earlier visit, whoever signed that, is known at a later one, and only there."""
    patient = new_patient()
    first = new_visit(BEN, patient)
    save(BEN, first, batch(finding(LAX)), now=NOW)
    sign(BEN, first, version=3, addressee="", today=TODAY, now=NOW)
    confirm(BEN, first, MRI, today=SCANNED, now=NOW + WEEK)
    details = VisitDetails(day=TODAY + 2 * WEEK, complaint=(Side.RIGHT,))
    second = begin_visit(ANN, patient, details, now=NOW + 2 * WEEK)
    save(ANN, second, batch(finding(LAX, base=1)), now=NOW + 2 * WEEK)
    sign(ANN, second, version=2, addressee="", today=details.day, now=NOW + 2 * WEEK)
    confirm(ANN, second, {**MRI, "on": str(TODAY + 3 * WEEK)}, today=TODAY + 3 * WEEK, now=NOW + 3 * WEEK)
    (mine,) = own_visits(ANN, silent=0, now=NOW + 3 * WEEK)
    assert (mine.visit.id, mine.examination) == (second, f"visit-{second}")
    assert [each.on for each in mine.known] == [SCANNED]
    (his,) = own_visits(BEN, silent=0, now=NOW + 3 * WEEK)
    assert (his.visit.id, his.known) == (first, ())
