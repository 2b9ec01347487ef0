from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connections

from fabella.anatomy import Side
from fabella.errors import InputError
from fabella.record import EMPTY, Setting, fold
from fabella.store import NotAllowed, NotThere, Role
from fabella.store.clinic.charting import Saved, save
from fabella.store.clinic.models import Entry, Trace
from fabella.store.clinic.sheets import entry_of
from fabella.store.clinic.verifying import verify
from fabella.store.clinic.visits import see_visit, visits_on
from tests.database import forget
from tests.store.people import (
    ANN,
    BEGUN,
    BEN,
    LACHMAN,
    LATER,
    LAX,
    NOW,
    STRANGER,
    TODAY,
    actor,
    answer,
    batch,
    finding,
    new_visit,
)

pytestmark = pytest.mark.usefixtures("database")


def outcomes(saved: Saved) -> list[tuple[str, int | None]]:
    """What became of each operation, with its version."""
    return [(result.outcome.value, result.version) for result in saved.results]


def test_a_saved_finding_stands_on_the_sheet() -> None:
    """What was acknowledged is what is read afterwards, from the database and not from memory."""
    visit = new_visit()
    saved = save(ANN, visit, batch(finding(LAX), answer("pop_heard", True)), now=LATER)
    assert outcomes(saved) == [("saved", 3), ("saved", 4)]
    forget()
    record = see_visit(ANN, visit, now=LATER)
    assert record.sheet == saved.sheet
    assert record.examination.finding("lachman", Side.RIGHT).level == "2+"  # type: ignore[union-attr]
    assert record.examination.history["pop_heard"] is True
    assert record.examination.patient.age_years == 36
    assert record.examination.examined_on == TODAY


def test_a_visit_begins_with_what_is_known() -> None:
    """Setting and complaint given at the start stand on the sheet, and their changes show in lists."""
    visit = new_visit()
    record = see_visit(ANN, visit, now=NOW)
    assert (record.sheet.version, record.examination.context.setting) == (BEGUN, Setting.SPECIALIST_CLINIC)
    change = {"change": "set_context", "field": "complaint", "value": ["left", "right"]}
    save(ANN, visit, batch({"id": "complaint-changed-1", "base": 2, **change}), now=LATER)
    (line,) = visits_on(ANN, TODAY, now=LATER)
    assert (line.id, line.complaint, line.version) == (visit, (Side.LEFT, Side.RIGHT), 3)
    for base, (value, complaint) in enumerate([("none", ()), ([], None)], start=3):
        said = {"id": f"complaint-changed-{base}", "base": base, **change, "value": value}
        save(ANN, visit, batch(said), now=LATER)
        assert visits_on(ANN, TODAY, now=LATER)[0].complaint == complaint
        assert see_visit(ANN, visit, now=LATER).examination.context.complaint == complaint


def test_a_repeat_is_answered_the_same_and_changes_nothing() -> None:
    """A batch sent again, because its answer was lost, is acknowledged again and kept once."""
    visit = new_visit()
    sent = batch(finding(LAX), answer("pop_heard", True))
    first = save(ANN, visit, sent, now=NOW)
    lines = Trace.objects.count()
    again = save(ANN, visit, sent, now=LATER)
    assert again == first
    assert Entry.objects.filter(visit=visit).count() == BEGUN + 2
    assert Trace.objects.count() == lines


def test_a_repeat_within_one_batch_is_kept_once() -> None:
    """An operation that stands twice in a batch is one entry with two answers."""
    twice = finding(LAX)
    assert outcomes(save(ANN, new_visit(), batch(twice, twice), now=NOW)) == [("saved", 3), ("saved", 3)]


def test_a_repeated_touch_is_known_again() -> None:
    """Marking a position normal is recognised when it is sent again, though it was written out when kept."""
    visit = new_visit()
    touch = {"id": "touch-for-lying-1", "base": BEGUN, "change": "mark_normal", "position": "lying"}
    assert save(ANN, visit, batch(touch), now=NOW) == save(ANN, visit, batch(touch), now=LATER)


def test_an_id_used_for_another_change_is_refused() -> None:
    """An id never silently stands for two different changes, nor for two visits."""
    visit, other = new_visit(), new_visit(patient=None, who=actor("cy", service="other"))
    save(ANN, visit, batch(finding(LAX, id="used-for-lachman-2")), now=NOW)
    saved = save(ANN, visit, batch(finding(LACHMAN, id="used-for-lachman-2")), now=NOW)
    assert outcomes(saved) == [("refused", None)]
    assert "was used for another change" in str(saved.results[0].problems[0])
    there = save(actor("cy", service="other"), other, batch(finding(LAX, id="used-for-lachman-2")), now=NOW)
    assert outcomes(there) == [("refused", None)]


def test_a_wrong_operation_is_refused_alone() -> None:
    """The good operations of a batch are saved in order; the wrong one says what is wrong with it."""
    wrong = finding({**LAX, "level": "5+"})
    saved = save(ANN, new_visit(), batch(finding(LAX), wrong, answer("pop_heard", False)), now=NOW)
    assert outcomes(saved) == [("saved", 3), ("refused", None), ("saved", 4)]
    assert saved.results[1].problems[0].place == "operations[1].finding.level"


def test_two_devices_never_overwrite_each_other() -> None:
    """What two wrote unseen stands side by side for both, until one who saw both says which holds."""
    visit = new_visit()
    save(ANN, visit, batch(finding(LACHMAN)), now=NOW)
    disputed = batch(finding(LAX))
    assert outcomes(save(BEN, visit, disputed, now=NOW)) == [("conflict", 4)]
    for who in (ANN, BEN):
        record = see_visit(who, visit, now=LATER)
        assert record.examination.finding("lachman", Side.RIGHT).state == "normal"  # type: ignore[union-attr]
        ((other,),) = record.sheet.conflicts.values()
        assert (other.writer.author, other.value.level) == ("ben", "2+")  # type: ignore[union-attr]
    assert outcomes(save(BEN, visit, disputed, now=LATER)) == [("conflict", 4)]
    settled = save(ANN, visit, batch(finding(LAX, base=4)), now=LATER)
    assert outcomes(settled) == [("saved", 5)]
    assert not settled.sheet.conflicts


def test_what_is_no_batch_is_refused() -> None:
    """A body that holds no operations is refused with one message, and nothing is kept."""
    with pytest.raises(InputError, match="operations"):
        save(ANN, new_visit(), '{"operations": {}}', now=NOW)


def test_nobody_else_writes_on_a_visit() -> None:
    """Another service's clinician does not find the visit, and a student may not look for it."""
    visit = new_visit()
    with pytest.raises(NotThere):
        save(STRANGER, visit, batch(finding(LAX)), now=NOW)
    with pytest.raises(NotAllowed):
        save(actor("stu", Role.STUDENT), visit, batch(finding(LAX)), now=NOW)


def test_many_threads_save_at_once() -> None:
    """Saves from several devices at once are numbered without a gap, and the trail stays whole."""
    visit = new_visit()
    items = ["pop_heard", "giving_way", "locking", "fever", "night_pain"]

    def work(number: int) -> int:
        who = actor(f"hand-{number}", device=f"device-{number}")
        try:
            for item in items:
                (result,) = save(who, visit, batch(answer(item, True)), now=NOW).results
                assert result.version is not None
            return len(items)
        finally:
            connections.close_all()

    with ThreadPoolExecutor(4) as pool:
        assert sum(pool.map(work, range(4))) == 20
    versions = Entry.objects.filter(visit=visit).order_by("version").values_list("version", flat=True)
    assert list(versions) == list(range(1, BEGUN + 21))
    assert verify(ANN).faults == ()


def test_the_kept_sheet_is_the_folded_one() -> None:
    """What is carried on in memory from save to save is what all entries folded from the first give."""
    visit = new_visit()
    for who, written in [(ANN, LACHMAN), (BEN, LAX), (ANN, LAX), (BEN, LACHMAN)]:
        sheet = save(who, visit, batch(finding(written)), now=NOW).sheet
    rows = Entry.objects.filter(visit=visit).order_by("version")
    assert fold((entry_of(row, TODAY) for row in rows), EMPTY) == sheet
