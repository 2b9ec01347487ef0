"""What is remembered of a visit is what its rows give when they are read again, as after a restart."""

from __future__ import annotations

import itertools
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fabella.record import Change, Sheet
from fabella.store import Unreadable
from fabella.store.clinic import models
from fabella.store.clinic.charting import save
from fabella.store.clinic.details import VisitDetails
from fabella.store.clinic.picturing import keep_picture
from fabella.store.clinic.settling import settle_dispute
from fabella.store.clinic.sheets import sheet_of
from fabella.store.clinic.visits import begin_visit, see_visit
from tests.database import forget
from tests.store.drawn import ID, TAKEN
from tests.store.people import ANN, BEN, LACHMAN, LAX, NOW, TODAY, actor, batch, new_patient, new_visit

_WRITERS = (ANN, BEN, actor("ann", device="phone"))
_NOTED = {"sign": "thigh_girth", "side": "left", "value": 41.5, "unit": "cm", "note": "standing\ntwice"}
_WALK = {"sign": "cadence", "value": 104, "unit": "steps/min", "method": "taps at heel strike"}
_KNEE = {"name": "acl_reconstruction", "sides": ["right"], "on": str(TODAY)}
_OWN = {"document": "letter", "passage": "findings-1", "computed": "As computed.\n\nTwice."}

_SCANS: list[dict[str, object] | None] = [
    {},
    {"shows": []},
    {"shows": ["acl_tear"], "on": "2024-01-02", "words": "Torn."},
    None,
]
_CHANGES: dict[Change, tuple[dict[str, Any], ...]] = {
    Change.SET_FINDING: tuple({"finding": each} for each in (LAX, LACHMAN, _NOTED, _WALK)),
    Change.REMOVE_FINDING: ({"sign": "lachman", "side": "right"}, {"sign": "cadence"}),
    Change.SET_HISTORY: tuple({"item": "locking", "value": value} for value in (True, False, None)),
    Change.SET_TOTAL: tuple({"score": "koos_pain", "side": "right", "value": each} for each in (50, None)),
    Change.SET_IMAGING: tuple({"image": "mri", "side": "right", "result": each} for each in _SCANS),
    Change.SET_CONTEXT: (
        *({"field": "complaint", "value": value} for value in (["left", "right"], "none", [], None)),
        *({"field": "procedure", "value": value} for value in (_KNEE, None)),
        {"field": "onset_days", "value": 3},
    ),
    Change.SET_CONDUCT: tuple({"field": "pain_asked", "value": value} for value in (True, None)),
    Change.SET_PASSAGE: (
        {**_OWN, "text": "In other words.\nOn two lines.", "reason": "seen since"},
        {**_OWN, "text": None},
    ),
    Change.MARK_NORMAL: ({"position": "lying"}, {"position": "lying", "side": "left"}),
    Change.UNMARK_NORMAL: ({"position": "lying"}, {"position": "lying", "side": "left"}),
}
"""Every kind of change, as the scripts of the pages write it."""

_numbers = itertools.count()
_ANY = st.sampled_from([{"change": kind, **each} for kind, told in _CHANGES.items() for each in told])
_WRITE = st.tuples(_ANY, st.sampled_from(_WRITERS), st.integers(0, 3), st.sampled_from([None, 0, 2]))


def now_and_again(visit: int) -> tuple[Sheet, Sheet]:
    """The sheet of a visit as it is remembered, and as its rows give it."""
    row = models.Visit.objects.get(pk=visit)
    remembered = sheet_of(row)
    forget()
    return remembered, sheet_of(row)


def test_every_kind_of_change_is_tried() -> None:
    """A kind that pages learn to send stands here, too."""
    assert _CHANGES.keys() == set(Change)


@pytest.mark.usefixtures("files")
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(_WRITE, min_size=1, max_size=20))
def test_a_sheet_is_read_again_as_it_was_remembered(
    writes: list[tuple[dict[str, Any], Any, int, int | None]],
) -> None:
    """Whoever writes what, on whatever base, told what was on the screen or not, stating or taking back.

    So is what stands, since when and by whom, what is in dispute, and who had seen what.
    """
    visit = new_visit(patient=new_patient(number=f"K-{next(_numbers)}"))
    ids: list[str] = []
    for change, who, behind, on_screen in writes:
        ids.append(f"written-by-tests-{next(_numbers):08}")
        version = models.Visit.objects.get(pk=visit).version
        operation = {"id": ids[-1], "base": max(0, version - behind), **change}
        if on_screen is not None:
            operation["seen"] = ids[:-1][-on_screen:] if on_screen else []
        (result,) = save(who, visit, batch(operation), now=NOW).results
        assert result.problems == (), operation
    remembered, again = now_and_again(visit)
    assert again == remembered
    assert list(again.stated) == list(remembered.stated)


def test_what_other_pages_write_is_read_again(files: None) -> None:
    """A visit that takes over an earlier one, a picture's value, a dispute and its settlement."""
    del files
    patient = new_patient()
    first = new_visit(patient=patient)
    lasts = {"change": "set_context", "field": "procedure", "value": _KNEE}
    save(ANN, first, batch({"id": "operated-on-earlier-1", "base": 2, **lasts}), now=NOW)
    visit = begin_visit(ANN, patient, VisitDetails(day=TODAY), take_over=first, now=NOW)
    keep_picture(ANN, visit, TAKEN, id_=ID, base=0, now=NOW)
    assert TAKEN.finding is not None
    other = {"change": "set_finding", "finding": {**TAKEN.finding, "value": 120}}
    save(BEN, visit, batch({"id": "measured-by-hand-0001", "base": 0, "seen": [], **other}), now=NOW)
    remembered, again = now_and_again(visit)
    assert (again, len(again.conflicts)) == (remembered, 1)
    ((key, (beside,)),) = again.conflicts.items()
    form = {"part": key.part.value, "name": key.name, "side": str(key.side)}
    chosen = {"version": str(beside.version), "seen": str(again.version)}
    settle_dispute(ANN, visit, {**form, **chosen}, now=NOW)
    remembered, again = now_and_again(visit)
    assert (again, len(again.conflicts)) == (remembered, 0)
    procedure = see_visit(ANN, visit, now=NOW).examination.context.procedure
    assert procedure is not None
    assert procedure.on == TODAY


@pytest.mark.usefixtures("files")
@pytest.mark.parametrize(
    ("change", "payload"),
    [("set_photograph", "{}"), ("set_finding", '{"finding":{"sign":"new_sign","state":"normal"}}')],
)
def test_what_a_newer_program_wrote_is_refused_by_its_place(change: str, payload: str) -> None:
    """It is no fault of whoever opens the visit: the message names the entry and the way out."""
    visit = new_visit()
    row = models.Entry(visit_id=visit, version=3, operation="of-a-newer-program-1", base=2, at=NOW)
    row.change, row.payload, row.author, row.device = change, payload, "ann", "tablet"
    row.save()
    models.Visit.objects.filter(pk=visit).update(version=3)
    with pytest.raises(Unreadable, match=f"Entry 3 of visit {visit} cannot be read by Fabella .* start that"):
        see_visit(ANN, visit, now=NOW)
