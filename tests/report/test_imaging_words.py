"""Images in the letter, in its reasons and in the answer for programs."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from fabella.anatomy import load_lesions
from fabella.protocol import load_protocol
from fabella.record import Acuity, Examination, ImageKind, Imaging, Mechanism, Procedure, ProcedureName
from fabella.report.answer import conclusion_tree
from fabella.report.imaging_words import image_name, image_words
from fabella.report.letter import build_letter
from fabella.report.letter_document import letter_document
from fabella.report.plain_imaging import pictures
from fabella.report.readability import reading_grade
from fabella.report.summary import build_summary
from fabella.report.text import as_text
from fabella.workup import run_workup
from tests.flags.build import LEFT, RIGHT, exam

TWISTED = replace(
    exam(
        {"lachman": "2+", "effusion": "moderate"},
        age=24,
        acuity=Acuity.ACUTE,
        days=3,
        mechanism=Mechanism.TWIST,
    ),
    examined_on=date(2026, 3, 14),
)


def imaged(*images: Imaging) -> Examination:
    """The twisted knee with these images."""
    return replace(TWISTED, imaging=images)


def letter(examination: Examination) -> str:
    """The letter as text, in one line."""
    written = build_letter(run_workup(examination), written_on=date(2026, 3, 14))
    return " ".join(as_text(letter_document(written, drawn=False)).split())


def test_an_image_is_told_with_its_day_what_it_shows_and_its_report() -> None:
    """Right knee first; breaks of lines in the report are none in the letter."""
    told = image_words(
        imaged(
            Imaging(image=ImageKind.MRI, side=LEFT),
            Imaging(
                image=ImageKind.RADIOGRAPH,
                side=RIGHT,
                on=date(2026, 3, 13),
                shows=("tibial_plateau_fracture", "osteoarthritis"),
                words="As\nseen.",
            ),
        ),
        load_lesions(),
    )
    assert [(each.name, each.text) for each in told] == [
        (
            "Right knee, plain radiographs",
            (
                "13 March 2026: tibial plateau or proximal tibial fracture and osteoarthritis of the knee. "
                "Report: “As seen.”"
            ),
        ),
        ("Left knee, MRI", "Not read yet; day not stated."),
    ]


def test_an_image_from_before_the_injury_is_told_as_such() -> None:
    """It is kept, and told not to have been weighed."""
    (old,) = image_words(
        imaged(Imaging(image=ImageKind.RADIOGRAPH, side=RIGHT, on=date(2026, 3, 1), shows=())),
        load_lesions(),
    )
    assert old.text == ("1 March 2026: nothing abnormal seen. From before this complaint, and not weighed.")


FILM = Imaging(image=ImageKind.RADIOGRAPH, side=RIGHT, on=date(2024, 2, 1), shows=())


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({}, "Too old to tell of today, and not weighed."),
        (
            {"procedure": Procedure(name=ProcedureName.WASHOUT, sides=(RIGHT,), on=date(2025, 12, 1))},
            "From before the operation, and not weighed.",
        ),
        ({"onset_days": 30.0}, "From before this complaint, and not weighed."),
    ],
)
def test_why_an_old_image_is_not_weighed_stands_in_the_letter(changed: dict[str, Any], says: str) -> None:
    """Beyond a year it is too old, though the complaint is older."""
    context = replace(TWISTED.context, acuity=Acuity.CHRONIC, onset_days=2000.0)
    old = replace(imaged(FILM), context=replace(context, **changed))
    assert f"1 February 2024: nothing abnormal seen. {says}" in letter(old)


@pytest.mark.parametrize(
    ("shows", "says"),
    [
        (
            (),
            "Of limited value: it rules nothing out, and is not weighed.",
        ),
        (
            ("tibial_plateau_fracture",),
            "Of limited value: what it shows is acted on, what it does not show may be there; not weighed.",
        ),
        (None, "Not read yet; day not stated. Of limited value."),
    ],
)
def test_an_image_of_limited_value_says_so(shows: tuple[str, ...] | None, says: str) -> None:
    """A blurred film is told with what it shows, and weighed neither way; the fracture on it cannot wait."""
    poor = imaged(replace(FILM, on=None, shows=shows, limited=True))
    told = letter(poor)
    assert says in told
    assert "seen on plain radiographs" not in told
    assert ("Fracture on an image" in told) is bool(shows)


def test_a_program_that_asks_has_the_conclusion_of_the_knee_without_a_poor_image() -> None:
    """What was not weighed moves no probability."""
    poor = Imaging(image=ImageKind.MRI, side=RIGHT, shows=(), limited=True)
    with_it, without = (run_workup(each).conclusion for each in (imaged(poor), TWISTED))
    assert with_it == without
    assert with_it != run_workup(imaged(replace(poor, limited=False))).conclusion


def test_the_letter_tells_images_and_gives_them_as_reasons() -> None:
    """Between findings and conclusion; without any the letter has no such part."""
    scan = letter(imaged(Imaging(image=ImageKind.MRI, side=RIGHT, shows=("acl_tear",))))
    assert "IMAGING Right knee, MRI: Anterior cruciate ligament tear; day not stated." in scan
    assert scan.index("FINDINGS") < scan.index("IMAGING") < scan.index("CONCLUSION")
    assert "seen on MRI" in scan
    assert "IMAGING" not in letter(TWISTED)
    without = letter(imaged(Imaging(image=ImageKind.MRI, side=RIGHT, shows=("mcl_tear",))))
    assert "not seen on MRI" in without


def test_the_answer_for_programs_tells_an_image_from_a_sign() -> None:
    """A reason that is an image says so; the knee lists the images that entered."""
    workup = run_workup(imaged(Imaging(image=ImageKind.MRI, side=RIGHT, shows=("acl_tear",))))
    knees = conclusion_tree(workup, protocol=load_protocol())["knees"]
    assert (knees["right"]["images"], knees["left"]["images"]) == (["mri"], [])
    torn = next(each for each in knees["right"]["lesions"] if each["id"] == "acl_tear")
    (scan,) = (each for each in torn["for"] if each["image"])
    assert (scan["sign"], scan["name"], scan["abnormal"]) == ("mri", "MRI", True)
    assert {each["image"] for each in torn["for"] if each["sign"] != "mri"} == {False}


def test_every_image_has_a_name() -> None:
    """Whatever may be recorded can be told."""
    assert all(image_name(each.value) for each in ImageKind)


def test_the_patient_reads_which_pictures_were_looked_at() -> None:
    """Read and unread ones of this complaint, once each; readable at about twelve (Flesch and Kincaid)."""
    hips = [Imaging(image=ImageKind.HIP_RADIOGRAPH, side=side, shows=()) for side in (RIGHT, LEFT)]
    film = Imaging(image=ImageKind.RADIOGRAPH, side=RIGHT, shows=())
    scan = Imaging(image=ImageKind.MRI, side=RIGHT)
    old = Imaging(image=ImageKind.CT, side=RIGHT, on=date(2026, 3, 1), shows=())
    poor = Imaging(image=ImageKind.ULTRASOUND, side=RIGHT, shows=(), limited=True)
    page = build_summary(
        run_workup(replace(TWISTED, imaging=(film, scan, *hips, old, poor))), written_on=date(2026, 3, 14)
    )
    told = [each for each in page.looked_for if "X-ray" in each or "scan" in each]
    assert told == [
        "We looked at the X-ray of your right knee.",
        "We still have to look at the MRI scan of your right knee.",
        "We also looked at the X-ray of your hips.",
        "We also looked at the ultrasound scan of your right knee. It is not clear enough to be sure.",
    ]
    for kind in ImageKind:
        (sentence,) = pictures(imaged(Imaging(image=kind, side=LEFT, shows=())))
        grade = reading_grade(f"We looked at both of your knees. {sentence}")
        assert grade is not None
        assert grade <= 7, sentence
    blurred = Imaging(image=ImageKind.MRI, side=LEFT, shows=(), limited=True)
    (sentence,) = pictures(imaged(blurred))
    assert (reading_grade(sentence) or 99) <= 7


def test_what_an_image_shows_and_no_table_lists_is_told_once_not_to_be_weighed() -> None:
    """A torn meniscus on an ultrasound is kept and told; a torn cruciate on MRI is weighed."""
    told = letter(imaged(Imaging(image=ImageKind.ULTRASOUND, side=RIGHT, shows=("medial_meniscus_tear",))))
    assert (
        told.count("Not weighed: medial meniscus tear, as no table says how well ultrasound tells it.") == 1
    )
    assert "Not weighed" not in letter(imaged(Imaging(image=ImageKind.MRI, side=RIGHT, shows=("acl_tear",))))


def test_wear_shown_in_a_replaced_knee_is_told_not_to_be_weighed() -> None:
    """Such a knee has no cartilage to wear."""
    replaced = exam(
        {"effusion": "small"},
        age=70,
        acuity=Acuity.CHRONIC,
        operated=(ProcedureName.TOTAL_KNEE_REPLACEMENT, 900),
        imaged={ImageKind.RADIOGRAPH: ("osteoarthritis",)},
    )
    assert "Not weighed: osteoarthritis of the knee, which such a knee cannot have." in letter(replaced)
