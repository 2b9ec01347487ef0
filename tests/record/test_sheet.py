import json
from collections.abc import Iterable
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabella.anatomy import Side
from fabella.protocol import load_protocol
from fabella.record import (
    EMPTY,
    Change,
    Entry,
    Examination,
    Finding,
    Key,
    Operation,
    Origin,
    Part,
    Sheet,
    State,
    Value,
    Writer,
    fold,
    places_marked_normal,
    read_batch,
)
from fabella.record.operation import Mode, Step
from tests.strategies import findings_of

PROTOCOL = load_protocol()
BLANK = Examination(id="one", origin=Origin.INVENTED)
ANN, BEN = Writer("ann", "tablet"), Writer("ben", "phone")
LACHMAN = Key(Part.FINDING, "lachman", Side.RIGHT)
NORMAL = Finding(sign="lachman", side=Side.RIGHT, state=State.NORMAL)
LAX = Finding(sign="lachman", side=Side.RIGHT, state=State.ABNORMAL, level="2+")
LAXER = Finding(sign="lachman", side=Side.RIGHT, state=State.ABNORMAL, level="3+")


def entry(version: int, writer: Writer, base: int, *steps: Step, seen: Iterable[int] | None = None) -> Entry:
    """An entry as it was accepted; what its change is called makes no difference to the sheet.

    ``seen`` are the entries above the base that were on the screen, if the operation tells.
    """
    payload = {} if seen is None else {"seen": [f"made-up-{each:08}" for each in seen]}
    operation = Operation(
        id=f"made-up-{version:08}", base=base, change=Change.SET_FINDING, payload=payload, steps=steps
    )
    return Entry(version, writer, operation)


def sheet_of(*made: tuple[Writer, int, Value] | tuple[Writer, int, Value, Mode]) -> Sheet:
    """The sheet after entries about one sign: who, with which version before them, what, and how."""
    return fold(
        entry(version, writer, base, Step(LACHMAN, value, mode[0] if mode else Mode.SET))
        for version, (writer, base, value, *mode) in enumerate(made, start=1)
    )


def value(sheet: Sheet) -> Value:
    """What stands for the one sign."""
    return sheet.stated[LACHMAN].value


def disputed(sheet: Sheet) -> list[Value]:
    """What stands beside it in dispute."""
    return [each.value for each in sheet.conflicts.get(LACHMAN, ())]


def test_who_saw_what_stands_there_may_change_it() -> None:
    """A second examiner who had the first one's entry before them replaces it without a conflict."""
    sheet = sheet_of((ANN, 0, NORMAL), (BEN, 1, LAX))
    assert (value(sheet), disputed(sheet), set(sheet.contested)) == (LAX, [], set())


def test_who_had_not_seen_it_does_not_overwrite_it() -> None:
    """An entry made without knowledge of another's keeps that one standing and is kept beside it."""
    sheet = sheet_of((ANN, 0, NORMAL), (BEN, 0, LAX))
    assert (value(sheet), disputed(sheet), set(sheet.contested)) == (NORMAL, [LAX], {2})


def test_ones_own_entries_follow_each_other() -> None:
    """Entries waiting on one device, all made on the same version, are no conflict with each other."""
    sheet = sheet_of((ANN, 0, NORMAL), (ANN, 0, LAX), (ANN, 0, LAXER))
    assert (value(sheet), disputed(sheet)) == (LAXER, [])


def test_the_same_person_on_another_device_has_not_seen_it() -> None:
    """One examiner with two tablets is asked as two would be."""
    sheet = sheet_of((ANN, 0, NORMAL), (Writer("ann", "phone"), 0, LAX))
    assert disputed(sheet) == [LAX]


@pytest.mark.parametrize(("seen", "expected"), [([], (NORMAL, [LAX])), ([1], (LAX, []))])
def test_a_window_that_tells_what_it_showed_is_believed(
    seen: list[int], expected: tuple[Value, list[Value]]
) -> None:
    """One's own entry from another window is replaced by who had it before them, and by nobody else."""
    first = entry(1, ANN, 0, Step(LACHMAN, NORMAL))
    sheet = fold([first, entry(2, ANN, 0, Step(LACHMAN, LAX), seen=seen)])
    assert (value(sheet), disputed(sheet)) == expected


def test_what_a_window_did_not_show_stays_in_dispute() -> None:
    """A disputed value of one's own is replaced if it was on the screen, else it stands beside the next."""
    disputing = [entry(1, BEN, 0, Step(LACHMAN, NORMAL)), entry(2, ANN, 0, Step(LACHMAN, LAX), seen=[])]
    assert disputed(fold([*disputing, entry(3, ANN, 0, Step(LACHMAN, LAXER), seen=[2])])) == [LAXER]
    unseen = fold([*disputing, entry(3, ANN, 0, Step(LACHMAN, LAXER), seen=[])])
    assert disputed(unseen) == [LAX, LAXER]
    assert disputed(fold([entry(4, ANN, 3, Step(LACHMAN, LAXER), seen=[])], unseen)) == []


def test_two_who_agree_have_no_conflict() -> None:
    """The same value written twice, unseen, is no dispute."""
    assert disputed(sheet_of((ANN, 0, LAX), (BEN, 0, LAX))) == []


def test_neither_of_two_who_agree_changes_it_behind_the_others_back() -> None:
    """Once two have written the same unseen, a change by one of them who still has not seen it is shown."""
    for first, second in ((ANN, BEN), (BEN, ANN)):
        sheet = sheet_of((ANN, 0, LAX), (BEN, 0, LAX), (first, 0, LAXER))
        assert (value(sheet), disputed(sheet)) == (LAX, [LAXER])
        assert value(sheet_of((ANN, 0, LAX), (BEN, 1, LAX), (second, 0, None))) == LAX


def test_a_removal_can_be_in_conflict_too() -> None:
    """Taking back what somebody has just changed is shown, not done."""
    sheet = sheet_of((ANN, 0, NORMAL), (BEN, 1, LAX), (ANN, 1, None))
    assert (value(sheet), disputed(sheet)) == (LAX, [None])


def test_the_latest_word_of_each_writer_is_in_dispute() -> None:
    """A writer who goes on without having seen the other replaces their own disputed value only."""
    sheet = sheet_of((ANN, 0, NORMAL), (BEN, 0, LAX), (BEN, 0, LAXER))
    assert (value(sheet), disputed(sheet), set(sheet.contested)) == (NORMAL, [LAXER], {2, 3})


@pytest.mark.parametrize("who", [ANN, BEN, Writer("cy", "desk")])
@pytest.mark.parametrize("chosen", [NORMAL, LAX, None])
def test_whoever_has_seen_both_settles_it(who: Writer, chosen: Value) -> None:
    """Whatever is stated with both before one's eyes holds, be it one of the two, or neither."""
    sheet = sheet_of((ANN, 0, NORMAL), (BEN, 0, LAX), (who, 2, chosen))
    assert (value(sheet), disputed(sheet)) == (chosen, [])


def test_going_on_without_having_seen_it_settles_nothing() -> None:
    """The first writer's next change holds, and the dispute that they had not seen stays open."""
    sheet = sheet_of((ANN, 0, NORMAL), (BEN, 0, LAX), (ANN, 1, LAXER))
    assert (value(sheet), disputed(sheet)) == (LAXER, [LAX])


def test_marking_normal_gives_way() -> None:
    """One touch for a whole position leaves an abnormal finding standing that was there before."""
    sheet = sheet_of((ANN, 0, LAX), (BEN, 1, NORMAL, Mode.FILL))
    assert (value(sheet), disputed(sheet)) == (LAX, [])


def test_marking_normal_what_another_found_abnormal_is_a_conflict() -> None:
    """One touch made without knowledge of an abnormal finding disagrees with it, and both are told."""
    sheet = sheet_of((ANN, 0, LAX), (BEN, 0, NORMAL, Mode.FILL))
    assert (value(sheet), disputed(sheet)) == (LAX, [NORMAL])


def test_marking_normal_settles_nothing() -> None:
    """A touch for a whole position is no word on one disputed sign."""
    sheet = sheet_of((ANN, 0, NORMAL), (BEN, 0, LAX), (ANN, 2, NORMAL, Mode.FILL))
    assert disputed(sheet) == [LAX]


def test_unmarking_takes_back_only_what_one_touch_said() -> None:
    """Undoing the touch removes plain normal findings; one with a note or a level stays."""
    noted = Finding(sign="lachman", side=Side.RIGHT, state=State.NORMAL, note="relaxed")
    assert value(sheet_of((ANN, 0, NORMAL), (ANN, 1, NORMAL, Mode.CLEAR))) is None
    assert value(sheet_of((ANN, 0, noted), (ANN, 1, NORMAL, Mode.CLEAR))) == noted
    assert value(sheet_of((ANN, 0, LAX), (ANN, 1, NORMAL, Mode.CLEAR))) == LAX


def test_a_position_is_marked_and_unmarked() -> None:
    """Marking and unmarking a position leaves exactly what was stated one by one."""
    covered = [Key(Part.FINDING, sign, side) for sign, side in places_marked_normal(PROTOCOL, "special")]
    assert LACHMAN in covered

    def all_of(version: int, mode: Mode) -> Entry:
        steps = (
            Step(key, Finding(sign=key.name, side=key.side, state=State.NORMAL), mode) for key in covered
        )
        return entry(version, ANN, version - 1, *steps)

    marked = fold([entry(1, ANN, 0, Step(LACHMAN, LAX)), all_of(2, Mode.FILL)])
    examination = marked.onto(BLANK)
    assert examination.finding("lachman", Side.RIGHT) == LAX
    assert len(examination.findings) == len(covered)
    assert fold([all_of(3, Mode.CLEAR)], marked).onto(BLANK).findings == (LAX,)


def test_a_gap_is_refused() -> None:
    """Entries that do not follow each other are never folded into something that looks whole."""
    with pytest.raises(ValueError, match="entry 2 does not follow entry 0"):
        fold([entry(2, ANN, 0)])


# ------------------------------------------------------------------ properties

_PLACES = [
    (PROTOCOL.sign(sign), side) for sign in ("lachman", "mcmurray", "passive_flexion") for side in Side
]


@st.composite
def histories(draw: st.DrawFn, writers: Iterable[Writer] = (ANN, BEN)) -> tuple[Entry, ...]:
    """Any sequence of entries about a few signs, by writers who may not have seen the latest ones."""
    who, entries = tuple(writers), []
    for version in range(1, draw(st.integers(0, 12)) + 1):
        sign, side = draw(st.sampled_from(_PLACES))
        stated = draw(st.none() | findings_of(sign, side))
        step = Step(Key(Part.FINDING, sign.id, side), stated)
        base = draw(st.integers(0, version - 1))
        entries.append(entry(version, draw(st.sampled_from(who)), base, step))
    return tuple(entries)


@given(histories([ANN]))
def test_folding_is_applying_one_by_one(entries: tuple[Entry, ...]) -> None:
    """Entries of one writer give what replacing and removing the findings of an examination gives."""
    examination = BLANK
    for each in entries:
        (step,) = each.operation.steps
        if isinstance(step.value, Finding):
            examination = examination.with_finding(step.value)
        else:
            examination = examination.without(step.key.name, step.key.side)
    assert fold(entries).onto(BLANK) == examination


@given(histories(), st.integers(0, 12))
def test_folding_in_two_parts_is_folding_at_once(entries: tuple[Entry, ...], cut: int) -> None:
    """A sheet that is kept and carried on is the sheet made from the beginning."""
    assert fold(entries[cut:], fold(entries[:cut])) == fold(entries)
    assert fold((), EMPTY) == EMPTY


@given(histories([ANN, BEN, Writer("cy", "desk")]))
def test_nothing_is_overwritten_unseen(entries: tuple[Entry, ...]) -> None:
    """What was written stands, is in dispute, or was changed by its writer or one who had seen it."""
    sheet = fold(entries)
    for each in entries:
        (step,) = each.operation.steps
        standing = [sheet.stated[step.key].value] if step.key in sheet.stated else []
        standing += [other.value for other in sheet.conflicts.get(step.key, ())]
        seen = any(
            later.operation.steps[0].key == step.key
            and (later.operation.base >= each.version or later.writer == each.writer)
            for later in entries[each.version :]
        )
        assert step.value in standing or seen or step.value is None


EFFUSION = Key(Part.FINDING, "effusion", Side.RIGHT)
SWEEP, TAP = (Key(Part.FINDING, part, Side.RIGHT) for part in ("effusion_sweep", "patellar_tap"))


def operation_of(version: int, **change: object) -> Entry:
    """An operation as it was sent and accepted, seen by its author up to there."""
    sent = {"id": f"made-up-{version:08}", "base": version - 1, **change}
    (operation,) = read_batch(json.dumps({"operations": [sent]}), protocol=PROTOCOL, day=date(2026, 1, 1))
    assert isinstance(operation, Operation)
    return Entry(version, ANN, operation)


def found(key: Key, state: State, **more: object) -> dict[str, object]:
    """What states a finding."""
    return {"change": "set_finding", "finding": {"sign": key.name, "side": key.side, "state": state, **more}}


MODERATE = found(EFFUSION, State.ABNORMAL, level="moderate")
LYING = {"change": "mark_normal", "position": "lying"}


def test_an_abnormal_summary_takes_back_what_one_touch_said_of_its_parts() -> None:
    """What was filled as normal is not known any more; what was stated by itself stands."""
    sheet = fold(
        [
            operation_of(1, **found(TAP, State.NORMAL)),
            operation_of(2, **LYING),
            operation_of(3, **MODERATE),
        ]
    )
    assert sheet.stated[SWEEP].value is None
    assert sheet.stated[TAP].value == Finding(sign="patellar_tap", side=Side.RIGHT, state=State.NORMAL)
    assert not sheet.conflicts


def test_what_is_summed_up_as_abnormal_is_not_filled_as_normal() -> None:
    """One touch for a whole position leaves out the parts of an abnormal summary, on its own side alone.

    "Moderate effusion" does not say whether it was seen on the sweep, the tap or the cross test.
    """
    filled = fold([operation_of(1, **MODERATE), operation_of(2, **LYING)]).stated
    for part in ("effusion_sweep", "patellar_tap"):
        assert Key(Part.FINDING, part, Side.RIGHT) not in filled
        assert filled[Key(Part.FINDING, part, Side.LEFT)].value == Finding(
            sign=part, side=Side.LEFT, state=State.NORMAL
        )
    warm = Key(Part.FINDING, "warmth", Side.RIGHT)
    assert filled[warm].value == Finding(sign="warmth", side=Side.RIGHT, state=State.NORMAL)
