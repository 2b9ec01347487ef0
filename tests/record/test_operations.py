import json
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabella.errors import InputError
from fabella.protocol import load_protocol
from fabella.record import (
    Entry,
    Examination,
    Operation,
    Origin,
    Part,
    Refused,
    Writer,
    change_to,
    fold,
    places_marked_normal,
    read_batch,
    restore_operation,
    statements,
)
from tests.strategies import TODAY, examinations

PROTOCOL = load_protocol()
_LACHMANN = (
    "operations[0].finding.sign: 'lachmann' is no sign of the examination; "
    "did you mean 'lachman' or 'lachman_prone' or 'lachman_end_point'?"
)
_HISTORY = (
    "operations[0].position: 'history' holds nothing that one touch marks as normal; state each by itself"
)
BLANK = Examination(id="one", origin=Origin.INVENTED)


def read(*changes: dict[str, object], day: date = TODAY) -> tuple[Operation | Refused, ...]:
    """Read changes as one batch, each with an id of its own and the base 0 unless it has others."""
    envelope = ({"id": f"operation-{number:06}", "base": 0} for number, _ in enumerate(changes))
    batch = [{**each, **change} for each, change in zip(envelope, changes, strict=True)]
    return read_batch(json.dumps({"operations": batch}), protocol=PROTOCOL, day=day)


def problems(change: dict[str, object]) -> list[str]:
    """Everything wrong with one change, in words."""
    (refused,) = read(change)
    assert isinstance(refused, Refused)
    return list(map(str, refused.problems))


@given(examinations(PROTOCOL))
def test_an_examination_can_be_written_one_statement_at_a_time(examination: Examination) -> None:
    """Whatever a file can state, operations can state, and the sheet puts it together unchanged."""
    stated = statements(examination)
    operations = read(*(change_to(key, value) for key, value in stated.items()))
    entries = [
        Entry(number, Writer("a", "tablet"), operation)
        for number, operation in enumerate(operations, start=1)
        if isinstance(operation, Operation)
    ]
    assert len(entries) == len(stated)
    blank = Examination(
        id=examination.id,
        origin=examination.origin,
        source=examination.source,
        examined_on=examination.examined_on,
        examiner=examination.examiner,
        patient=examination.patient,
    )
    assert fold(entries).onto(blank) == examination


@given(examinations(PROTOCOL))
def test_taking_back_leaves_nothing(examination: Examination) -> None:
    """Every statement can be taken back by an operation of its own, which leaves the sheet blank."""
    stated = statements(examination)
    changes = [change_to(key, value) for key, value in stated.items()]
    changes += [change_to(key, None) for key in stated]
    entries = [
        Entry(number, Writer("a", "tablet"), operation)
        for number, operation in enumerate(read(*changes), start=1)
        if isinstance(operation, Operation)
    ]
    assert len(entries) == 2 * len(stated)
    assert fold(entries).onto(BLANK) == BLANK


@given(examinations(PROTOCOL), st.sampled_from(["standing", "lying", "special"]), st.booleans())
def test_what_is_kept_of_an_operation_gives_it_back(
    examination: Examination, position: str, has_seen: bool
) -> None:
    """The kept text, with id, base and kind of change, restores the very same operation and text.

    So whether it states or takes back, and whether or not it names others that were on the screen.
    """
    stated = statements(examination)
    changes = [change_to(key, value) for key, value in stated.items()]
    changes += [change_to(key, None) for key in stated]
    changes += [
        {"change": kind, "position": position, "base": 7} for kind in ("mark_normal", "unmark_normal")
    ]
    if has_seen:
        changes = [{**each, "seen": ["another-operation-1", "another-operation-2"]} for each in changes]
    for operation in read(*changes):
        assert isinstance(operation, Operation)
        restored = restore_operation(
            identity=operation.id,
            base=operation.base,
            change=operation.change.value,
            text=operation.text,
            protocol=PROTOCOL,
            day=TODAY,
        )
        assert (restored.steps, restored.text) == (operation.steps, operation.text)
        assert restored.payload.get("seen") == operation.payload.get("seen")
        assert restored.base == operation.base


def test_one_touch_marks_what_every_examiner_looks_at() -> None:
    """A position marked normal covers its routine signs on both knees, and nothing that needs a tape."""
    covered = places_marked_normal(PROTOCOL, "lying")
    assert ("effusion_sweep", "right") in covered
    assert ("effusion_sweep", "left") in covered
    signs = [PROTOCOL.sign(sign) for sign, _ in covered]
    assert all(sign.routine and sign.scale.levels and not sign.is_summary for sign in signs)
    assert not {"thigh_girth", "passive_extension", "effusion"} & {sign.id for sign in signs}


def test_one_side_can_be_marked_alone() -> None:
    """With the other leg in plaster only the knee that was looked at is marked."""
    (operation,) = read({"change": "mark_normal", "position": "special", "side": "left"})
    assert isinstance(operation, Operation)
    assert {step.key.side for step in operation.steps} == {"left"}
    assert all(step.key.part is Part.FINDING for step in operation.steps)


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        (
            {"change": "set_finding", "finding": {"sign": "lachmann", "side": "right", "state": "normal"}},
            [_LACHMANN],
        ),
        (
            {"change": "set_finding"},
            ["operations[0].finding: 'null' is null, not an object; write {\"key\": value, …}"],
        ),
        (
            {"change": "remove_finding", "sign": "lachman"},
            ["operations[0].side: is missing; lachman is examined on each knee; allowed: right, left"],
        ),
        (
            {"change": "set_history", "item": "pop_herd", "value": True},
            ["operations[0].item: 'pop_herd' is not known here; did you mean 'pop_heard'?"],
        ),
        (
            {"change": "set_history", "item": "pop_heard", "value": 2},
            ["operations[0].value: '2' is a number, not true or false"],
        ),
        (
            {"change": "set_context", "field": "acuity", "value": "acut"},
            ["operations[0].value: 'acut' is not allowed here; did you mean 'acute'?"],
        ),
        (
            {"change": "set_context", "field": "onset_days", "value": -1},
            ["operations[0].value: '-1' is too low; allowed: 0 to 43920 days"],
        ),
        (
            {"change": "set_conduct", "field": "consent", "value": True},
            ["operations[0].field: 'consent' is not known here; did you mean 'consent_given'?"],
        ),
        (
            {"change": "set_total", "score": "oks", "value": 49},
            ["operations[0].value: '49' is too high; allowed: 0 to 48 points"],
        ),
        (
            {
                "change": "set_imaging",
                "image": "radiograph",
                "side": "right",
                "result": {"shows": ["acl_taer"]},
            },
            ["operations[0].shows[0]: 'acl_taer' is no lesion; did you mean 'acl_tear'?"],
        ),
        (
            {"change": "set_imaging", "image": "radiograph", "side": "right", "result": "normal"},
            ["operations[0].result: 'normal' is no object; write {\"shows\": […]}, or null to take it back"],
        ),
        (
            {"change": "mark_normal", "position": "history"},
            [_HISTORY],
        ),
        (
            {"change": "mark_normal", "position": "lyng", "side": "right"},
            ["operations[0].position: 'lyng' is not known here; did you mean 'lying'?"],
        ),
        (
            {"change": "set_findings", "base": -1, "id": "short"},
            [
                "operations[0].id: 'short' is not 16 to 64 letters, digits and dashes",
                "operations[0].base: '-1' is too low; allowed: 0 to 1e+09",
                "operations[0].change: 'set_findings' is not allowed here; did you mean 'set_finding'?",
            ],
        ),
        (
            {"change": "set_conduct", "field": "pain_asked", "value": True, "side": "right"},
            ["operations[0].side: 'side' does not belong to set_conduct; allowed: field, value"],
        ),
        (
            {"change": "mark_normal", "position": "lying", "covers": []},
            ["operations[0].covers: 'covers' does not belong to mark_normal; allowed: position, side"],
        ),
    ],
)
def test_a_wrong_operation_is_refused_with_every_reason(
    change: dict[str, object], expected: list[str]
) -> None:
    """A refusal says where in the batch, what stands there, and what would be right."""
    assert problems(change) == expected


def test_a_wrong_operation_stops_no_other() -> None:
    """The operations before and after a wrong one are read."""
    right = {"change": "set_history", "item": "pop_heard", "value": True}
    outcomes = read(right, {"change": "set_history"}, right)
    assert [type(each) for each in outcomes] == [Operation, Refused, Operation]
    assert outcomes[1].id == "operation-000001"


def test_a_key_that_stands_twice_is_refused() -> None:
    """A finding with two sides is not silently given the second."""
    text = (
        '{"operations": [{"id": "operation-000001", "base": 0, "change": "set_finding", "finding": '
        '{"sign": "lachman", "side": "left", "side": "right", "state": "normal"}}]}'
    )
    (refused,) = read_batch(text, protocol=PROTOCOL, day=TODAY)
    assert isinstance(refused, Refused)
    assert [each.place for each in refused.problems] == ["operations[0].finding.side"]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[]", "not an object"),
        ("{}", "is missing"),
        ('{"operations": {}}', "not a list"),
        ('{"operations": [' + ",".join(["{}"] * 1001) + "]}", "more than 1000"),
        ("{", "breaks off"),
    ],
)
def test_what_is_no_batch_is_refused_whole(text: str, says: str) -> None:
    """A text that holds no list of operations is refused with one message."""
    with pytest.raises(InputError, match=says):
        read_batch(text, protocol=PROTOCOL, day=TODAY)
