"""What a letter tells of the history: what was done to a knee stands in it, with its day."""

from __future__ import annotations

from datetime import date

import pytest

from fabella.anatomy import Side
from fabella.protocol import TellsOf, load_protocol
from fabella.record import Context, Examination, Origin, Procedure, ProcedureName
from fabella.report.phrases import load_phrases
from fabella.report.story import history_words


@pytest.mark.parametrize(
    ("name", "sides", "examined", "said"),
    [
        (
            ProcedureName.TOTAL_KNEE_REPLACEMENT,
            (Side.RIGHT,),
            date(2031, 4, 28),
            "Total knee replacement, right knee, on 3 March 2031 (8 weeks ago).",
        ),
        (
            ProcedureName.ACL_RECONSTRUCTION,
            (Side.LEFT,),
            date(2032, 3, 2),
            "ACL reconstruction, left knee, on 3 March 2031 (12 months ago).",
        ),
        (
            ProcedureName.OTHER,
            (Side.RIGHT, Side.LEFT),
            None,
            "Operation, right and left knees, on 3 March 2031.",
        ),
        (
            ProcedureName.EXERCISE_PROGRAMME,
            (Side.RIGHT,),
            date(2031, 3, 4),
            "Start of an exercise programme, right knee, on 3 March 2031 (1 day ago).",
        ),
    ],
)
def test_what_was_done_is_told(
    name: ProcedureName, sides: tuple[Side, ...], examined: date | None, said: str
) -> None:
    """Which operation or programme, of which knee, when, and how long ago at the visit."""
    context = Context(
        complaint=(Side.RIGHT,), procedure=Procedure(name=name, sides=sides, on=date(2031, 3, 3))
    )
    seen = Examination(id="a", origin=Origin.INVENTED, examined_on=examined, context=context)
    assert history_words(seen, load_protocol()) == f"Right knee. {said}"


@pytest.mark.parametrize(("side", "told"), [(Side.RIGHT, False), (Side.LEFT, True)])
def test_a_replacement_on_record_is_not_told_once_more_as_an_answer(side: Side, *, told: bool) -> None:
    """The answer speaks of the knee complained of, the record of the knee that was operated on."""
    done = Procedure(name=ProcedureName.TOTAL_KNEE_REPLACEMENT, sides=(Side.RIGHT,), on=date(2031, 3, 3))
    examination = Examination(
        id="one",
        origin=Origin.INVENTED,
        context=Context(complaint=(side,), procedure=done),
        history={"knee_prosthesis": True, "night_pain": True},
    )
    words = history_words(examination, load_protocol())
    assert ("knee prosthesis" in words) is told
    assert "ain at night" in words


def test_what_was_so_before_is_told_apart_from_what_hurts() -> None:
    """Nobody dictates "pain on stairs and pregnancy"; every such question is one of the history."""
    protocol = load_protocol()
    said = {"pain_on_stairs": True, "pregnancy": True, "diabetes": True, "fever": False}
    seen = Examination(id="a", origin=Origin.INVENTED, context=Context(complaint=(Side.RIGHT,)), history=said)
    told = "Right knee. Pain on stairs. Background: diabetes and pregnancy. No fever."
    assert history_words(seen, protocol) == told
    assert all(protocol.sign(item).is_history for item in load_phrases().background)
    past = {sign.id for sign in protocol.signs if sign.is_person and sign.tells_of is TellsOf.PAST}
    assert past <= load_phrases().background, "an illness of long ago is nothing that the knee does"


def test_a_complaint_without_a_side_says_that_the_side_is_missing() -> None:
    """Whoever signs sees what was forgotten, and whoever reads does not guess."""
    seen = Examination(id="a", origin=Origin.INVENTED, context=Context(onset_days=21))
    assert history_words(seen, load_protocol()) == "Knee complaint, side not stated, 3 weeks."


def test_a_choice_among_answers_is_not_run_into_the_next() -> None:
    """What reads "fall or blow and swelling" could be read as three things of which one is true."""
    said = {"fall_or_blunt_trauma": True, "swelling_noticed": True}
    seen = Examination(id="a", origin=Origin.INVENTED, context=Context(complaint=(Side.RIGHT,)), history=said)
    assert history_words(seen, load_protocol()) == "Right knee. Fall or blow; swelling."
