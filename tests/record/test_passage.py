import pytest

from fabella.errors import InputError
from fabella.protocol import load_protocol
from fabella.record import (
    LONGEST_PASSAGE,
    Entry,
    Examination,
    Key,
    Operation,
    Origin,
    Part,
    Passage,
    Writer,
    Writing,
    change_to,
    fold,
    passage_name,
    plain,
    read_passage,
    restore_operation,
)
from tests.record.test_operations import read
from tests.strategies import TODAY

NAME = passage_name(Writing.LETTER, "plan-next")
KEY = Key(Part.PASSAGE, NAME)
OWN = Passage(text="Scan this week.\nOff work.", computed="Magnetic resonance imaging.")
ANN, BEN = Writer("ann", "tablet"), Writer("ben", "phone")
BLANK = Examination(id="one", origin=Origin.INVENTED)


def operation(change: dict[str, object]) -> Operation:
    """One change, read."""
    (made,) = read(change)
    assert isinstance(made, Operation)
    return made


def test_a_passage_goes_through_an_operation_unchanged() -> None:
    """What somebody wrote, and what stood there, come out of the kept payload as they went in."""
    made = operation(change_to(KEY, OWN))
    kept = restore_operation(
        identity=made.id, base=0, change=made.change, text=made.text, protocol=load_protocol(), day=TODAY
    )
    assert [(step.key, step.value) for step in kept.steps] == [(KEY, OWN)]
    assert plain(KEY, OWN) == {"text": OWN.text, "computed": OWN.computed, "reason": ""}


def test_a_passage_is_no_part_of_the_examination() -> None:
    """A sheet with a passage gives the same examination as one without."""
    sheet = fold([Entry(1, ANN, operation(change_to(KEY, OWN)))])
    assert sheet.stated[KEY].value == OWN
    assert sheet.onto(BLANK) == BLANK


def test_own_words_are_taken_back_by_stating_nothing() -> None:
    """After that the passage is the program's again, and the entry that said so is kept like any other."""
    entries = [operation(change_to(KEY, OWN)), operation(change_to(KEY, None))]
    sheet = fold(Entry(number, ANN, each) for number, each in enumerate(entries, start=1))
    assert sheet.stated[KEY].value is None
    assert sheet.version == 2


def test_two_who_wrote_unseen_of_each_other_are_in_dispute() -> None:
    """What stood there stands; the other's words stand beside it."""
    other = Passage(text="No scan.", computed=OWN.computed)
    entries = [Entry(1, ANN, operation(change_to(KEY, OWN))), Entry(2, BEN, operation(change_to(KEY, other)))]
    sheet = fold(entries)
    assert sheet.stated[KEY].value == OWN
    assert [each.value for each in sheet.conflicts[KEY]] == [other]


def test_blank_lines_and_spaces_say_nothing() -> None:
    """Line ends of any machine, blank lines and spaces at the ends are not kept; a reason is one line."""
    written = {"text": " Scan. \r\n\r\n  Off work. ", "computed": "x", "reason": " told\nby phone "}
    assert read_passage({"document": "letter", "passage": "plan-next", **written}) == (
        NAME,
        Passage(text="Scan.\nOff work.", computed="x", reason="told by phone"),
    )


@pytest.mark.parametrize(
    ("payload", "problems"),
    [
        (
            {"document": "leter", "passage": "Plan!", "text": 3, "computed": "a\u0007"},
            [
                "document: 'leter' has no passages; did you mean 'letter'?",
                "passage: 'Plan!' is no passage; write the id of a passage of the document",
                "text: '3' is a number, not text",
                "computed: 'a\\u0007' holds a control character; leave it out",
            ],
        ),
        (
            {"document": "letter", "passage": "plan-next", "text": "a" * (LONGEST_PASSAGE + 1)},
            [f"is too long; write up to {LONGEST_PASSAGE} characters"],
        ),
    ],
)
def test_everything_wrong_with_a_passage_is_said(payload: dict[str, object], problems: list[str]) -> None:
    """One refusal lists every problem with its place."""
    with pytest.raises(InputError) as refused:
        read_passage(payload)
    said = list(map(str, refused.value.problems))
    assert len(said) == len(problems)
    assert all(each in one for each, one in zip(problems, said, strict=True)), said
