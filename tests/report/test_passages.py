from dataclasses import replace

import pytest

from fabella.record import Passage
from fabella.report import (
    ADDRESSEE,
    Document,
    Placed,
    as_text,
    build_letter,
    build_summary,
    in_own_words,
    letter_document,
    placed,
    reading_grade,
    summary_document,
)
from fabella.report.document import Paragraph, Points
from fabella.report.readability import syllables
from fabella.workup import Urgency
from tests.report import made_up
from tests.report.made_up import EVERYBODY, RIGHT, WRITTEN_ON
from tests.report.test_summary import grade


def letter() -> Document:
    """A letter about a twisted knee with something that cannot wait."""
    workup = replace(made_up.twisted_knee(), alarms=(made_up.alarm("septic_arthritis", RIGHT, Urgency.NOW),))
    return letter_document(build_letter(workup, written_on=WRITTEN_ON), drawn=False)


def page() -> Document:
    """The patient's page of the same."""
    workup = replace(made_up.twisted_knee(), alarms=(made_up.alarm("septic_arthritis", RIGHT, Urgency.NOW),))
    return summary_document(build_summary(workup, written_on=WRITTEN_ON))


def passages(document: Document, own: dict[str, Passage]) -> dict[str, Placed]:
    """Every passage of a document by its id."""
    return {
        each.id: each for _, blocks in placed(document, own) for each in blocks if isinstance(each, Placed)
    }


@pytest.mark.parametrize("make", EVERYBODY.values())
def test_every_passage_of_a_document_has_an_id_of_its_own(make: type) -> None:
    """Ids are unique, begin with their section's, and only what is measured or failed has none."""
    for document in (
        letter_document(build_letter(make(), written_on=WRITTEN_ON), drawn=False),
        summary_document(build_summary(make(), written_on=WRITTEN_ON)),
    ):
        told = [
            (section.id, block)
            for section in document.sections
            for block in section.blocks
            if isinstance(block, Paragraph | Points)
            if not (isinstance(block, Paragraph) and block.label == "Not worked out")
        ]
        ids = [block.id for _, block in told]
        assert len(ids) == len(set(ids))
        assert all(block.id.startswith(f"{section}-") for section, block in told)


def test_without_own_words_nothing_changes() -> None:
    """A document in nobody's own words is the computed one."""
    assert in_own_words(letter(), {}) == letter()


def test_own_words_stand_in_place_and_are_counted() -> None:
    """The label stays, each line is a paragraph, the rest is untouched, and the small print counts."""
    computed = passages(letter(), {})["plan-next"].computed
    own = {"plan-next": Passage(text="Rest.\nScan on Friday.", computed=computed)}
    text = as_text(in_own_words(letter(), own))
    assert "Next step: Rest.\nScan on Friday.\n" in text
    assert "1 passage is in the writer’s own words." in " ".join(text.split())
    before, after = ({*as_text(each).splitlines()} for each in (letter(), in_own_words(letter(), own)))
    assert {"Next step: Rest.", "Scan on Friday."} <= after - before
    assert len(before - after) <= len(computed) // 92 + 2  # its own lines, and the small print


def test_a_passage_can_be_left_out_and_another_added() -> None:
    """An empty text leaves the passage out; added words end the section; an addressee heads the letter."""
    computed = passages(letter(), {})["plan-next"].computed
    own = {
        "plan-next": Passage(text="", computed=computed),
        "plan-own": Passage(text="With kind regards", computed=""),
        ADDRESSEE: Passage(text="Dr Made Up", computed=""),
    }
    made = in_own_words(letter(), own)
    assert made.addressee == "Dr Made Up"
    assert "Next step" not in as_text(made)
    plan = next(section for section in made.sections if section.id == "plan")
    assert plan.blocks[-1] == Paragraph(text="With kind regards")
    assert passages(letter(), own)["plan-next"].is_left_out


def test_a_list_stays_a_list() -> None:
    """Points in own words are points again, one a line."""
    computed = passages(page(), {})["may-mean"].computed
    made = in_own_words(page(), {"may-mean": Passage(text="A sprain.\nA bruise.", computed=computed)})
    section = next(each for each in made.sections if each.id == "may")
    assert section.blocks[0] == Points(id="may-mean", texts=("A sprain.", "A bruise."))


def test_words_written_against_another_computed_text_are_stale() -> None:
    """They still stand, and the passage tells that the program has changed since."""
    own = {"plan-next": Passage(text="Rest.", computed="What it said before.")}
    one = passages(letter(), own)["plan-next"]
    assert (one.is_stale, one.text) == (True, "Rest.")


def test_words_whose_passage_is_gone_are_not_lost() -> None:
    """They stand at the end of their section, or of the last one, and are stale until somebody saw it."""
    own = {
        "conclusion-right-no_longer_named": Passage(text="A cyst, I think.", computed="Cyst 30%."),
        "gone-altogether": Passage(text="Still said.", computed="Once said."),
    }
    made = in_own_words(letter(), own)
    section = next(each for each in made.sections if each.id == "conclusion")
    assert section.blocks[-1] == Paragraph(text="A cyst, I think.")
    assert made.sections[-1].blocks[-1] == Paragraph(text="Still said.")
    found = passages(letter(), own)
    assert all(found[name].is_stale and found[name].is_added for name in own)


def urgent_id(document: Document) -> str:
    """The passage that cannot wait."""
    return next(name for name, each in passages(document, {}).items() if each.firm)


@pytest.mark.parametrize("make", [letter, page])
def test_what_cannot_wait_does_not_go_without_a_reason(make: type) -> None:
    """Left out or put otherwise it needs one; with words added round it, or said elsewhere, it does not."""
    document = make()
    name = urgent_id(document)
    said = passages(document, {})[name].computed
    for text in ("", "Nothing pressing."):
        own = {name: Passage(text=text, computed=said)}
        assert passages(document, own)[name].needs_reason
        told = {name: Passage(text=text, computed=said, reason="Settled on the ward")}
        assert not passages(document, told)[name].needs_reason
    for text in (f"I rang at once. {said}", f"{said}\nThe ward knows."):
        assert not passages(document, {name: Passage(text=text, computed=said)})[name].needs_reason


def test_when_to_come_at_once_is_firm_line_by_line() -> None:
    """On the patient's page a line of it that is missing is named."""
    computed = passages(page(), {})["come-at-once"].computed
    lines = computed.split("\n")
    one = passages(page(), {"come-at-once": Passage(text="\n".join(lines[1:]), computed=computed)})
    assert one["come-at-once"].unsaid == (lines[0],)


def test_the_reading_grade_is_that_of_the_formula() -> None:
    """The cat sat on the mat: 6 words, 1 sentence, 6 syllables, so -1.45 (worked by hand)."""
    assert reading_grade("The cat sat on the mat.") == pytest.approx(-1.45, abs=0.005)
    assert reading_grade("…") is None
    assert [syllables(word) for word in ("ligament", "knee", "middle", "tested")] == [3, 1, 2, 2]


def test_the_grade_agrees_with_the_one_that_holds_our_own_pages() -> None:
    """Counted apart, both come to the same for a text of plain sentences."""
    text = "We looked at both of your knees. We felt them, moved them and tested how firm they are."
    assert reading_grade(text) == pytest.approx(grade(text), abs=0.01)
