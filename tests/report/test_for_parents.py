import io
import re
from dataclasses import replace

import pypdf
import pytest

from fabella.flags import load_rules
from fabella.record import Patient
from fabella.report import as_pdf, as_text, build_summary, summary_document
from fabella.report.for_parents import READS_FROM_YEARS, speaks_to_parents, to_parents
from fabella.report.phrases import load_phrases
from fabella.report.plain_alarms import plain_alarm
from fabella.report.plain_changes import load_plain_changes
from fabella.report.safety_net import SAFETY_NET, WOUND
from fabella.workup import run_workup
from tests.flags.build import exam
from tests.report import made_up
from tests.report.made_up import WRITTEN_ON
from tests.report.test_summary import HIGHEST_GRADE, grade

OF_THE_READER = re.compile(
    r"\b(?:(?:with|tell) you|before you go|your (?:answers|surgeons|child))\b", re.IGNORECASE
)
OF_THE_PATIENT = re.compile(r"\byou(?:r|rself)?\b", re.IGNORECASE)


def every_sentence() -> list[str]:
    """What a page can say of findings, alarms, changes and when to come, each as it is said to a patient."""
    groups = load_phrases().groups
    told = [words for group in groups for words in (group.patient, group.patient_well) if words]
    told += load_phrases().plain.values()
    told += [words for each in (WOUND, *SAFETY_NET) for words in (each.words, each.instead) if words]
    told += [words for each in load_plain_changes().values() for words in (each.better, each.worse)]
    return told + [plain_alarm(rule) for rule in load_rules()]


def test_to_parents_nothing_is_said_as_if_it_were_their_own_knee() -> None:
    """Of every sentence of a page only what is the reader's own still says "you"."""
    left = [
        text
        for text in map(to_parents, every_sentence())
        if OF_THE_PATIENT.search(OF_THE_READER.sub("", text))
    ]
    assert left == []


def test_what_is_said_to_parents_can_be_read_as_easily() -> None:
    """Sentence by sentence it stays at or below grade 7."""
    assert [text for text in map(to_parents, every_sentence()) if grade(text) > HIGHEST_GRADE] == []


@pytest.mark.parametrize(
    ("said", "to_the_parents"),
    [
        ("You walk unevenly on this leg.", "Your child walks unevenly on this leg."),
        ("You can lift the leg by yourself.", "Your child can lift the leg without help."),
        ("You need an X-ray today.", "Your child needs an X-ray today."),
        ("Keep your weight off the leg.", "Do not let your child stand on the leg."),
        ("By your answers, your left knee troubles you less.",
         "By your answers, your child's left knee troubles your child less."),
        ("We will talk with you about the next step.", "We will talk with you about the next step."),
        ("Your surgeons need to see it.", "Your surgeons need to see it."),
    ],
)  # fmt: skip
def test_a_sentence_is_turned_as_one_would_say_it(said: str, to_the_parents: str) -> None:
    """Subject, verb and possessive change together, and what concerns the reader stays."""
    assert to_parents(said) == to_the_parents


@pytest.mark.parametrize(("years", "parents"), [(4.0, True), (11.9, True), (12.0, False), (15.0, False)])
def test_from_twelve_on_a_page_speaks_to_the_patient(years: float, parents: bool) -> None:
    """The reading age of the page decides; title, findings, alarms and drawing agree."""
    examination = exam({"antalgic_gait": "marked", "hip_rotation_pain": "yes"}, age=years, days=3)
    page = as_text(summary_document(build_summary(run_workup(examination), written_on=WRITTEN_ON)))
    assert ("YOUR CHILD'S KNEES" in page) is parents
    assert ("Your child should not walk on this leg" in page) is parents
    assert ("You should not walk on this leg" in page) is not parents
    assert ("your child" in page.casefold()) is parents


def test_without_an_age_a_page_speaks_to_the_patient() -> None:
    """Nobody is taken for a child whose age is not known; the age of reading is that of the page."""
    assert READS_FROM_YEARS == 12
    assert not speaks_to_parents(Patient())
    workup = replace(made_up.twisted_knee(), alarms=())
    assert not build_summary(workup, written_on=WRITTEN_ON).parents


def test_the_page_for_parents_is_one_sheet_with_its_drawing() -> None:
    """What is said to parents is longer; the drawing and its caption still stand on the same sheet."""
    examination = exam(
        {"antalgic_gait": "marked", "hip_rotation_pain": True, "effusion": "none"}, age=5, days=3
    )
    page = summary_document(build_summary(run_workup(examination), written_on=WRITTEN_ON))
    assert page.figure is not None
    assert page.figure.caption.startswith("Your child's knees, seen from the front.")
    assert len(pypdf.PdfReader(io.BytesIO(as_pdf(page, written_on=WRITTEN_ON))).pages) == 1
