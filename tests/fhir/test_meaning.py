"""What a document must never let anybody read into it, and what it must tell."""

from __future__ import annotations

import base64
import json
import xml.etree.ElementTree as ET
from dataclasses import replace
from typing import Any

import pytest

from fabella.fhir import Signed, bundle
from fabella.record import Passage
from fabella.report import as_text, build_letter, in_own_words, letter_document
from fabella.workup import run_workup
from tests.fhir.made import HANDBALL, ICE, WHEN, document, example, observations, of_findings, read
from tests.fhir.standard import Tree, faults, references, resources

SIGNED = Signed(by="Dr A. Madeup", at=WHEN)
DEGREES = {"unit": "deg", "system": "http://unitsofmeasure.org", "code": "deg"}


def only(tree: Tree, kind: str) -> Tree:
    """The one resource of a kind."""
    (found,) = resources(tree, kind)
    return found


def code_of(concept: Tree) -> str:
    """The first code of a concept."""
    return str(concept["coding"][0]["code"])


def test_what_was_not_examined_is_not_sent() -> None:
    """Neither a sign that nobody mentions nor one stated as left out has an observation."""
    left_out = {"sign": "lachman", "side": "right", "state": "not_examined", "note": "No time."}
    seen = {"sign": "lachman", "side": "left", "state": "normal"}
    tree = document(of_findings(left_out, seen))
    (sent,) = resources(tree, "Observation")
    assert (code_of(sent["code"]), code_of(sent["bodySite"])) == ("lachman", "left_knee")
    assert code_of(sent["interpretation"][0]) == "N"


def test_what_could_not_be_tested_has_a_reason_and_no_value() -> None:
    """It can be read neither as normal nor as abnormal, whatever the reason was."""
    for reason in ("pain", "guarding", "refused", "other"):
        tried = {"sign": "pivot_shift", "side": "right", "state": "untestable", "reason": reason}
        (sent,) = resources(document(of_findings(tried)), "Observation")
        codes = [each["code"] for each in sent["dataAbsentReason"]["coding"]]
        assert codes == ["not-performed", f"reason_{reason}"]
        assert not {"valueCodeableConcept", "valueQuantity", "interpretation"} & set(sent)
        assert "could not be tested" in sent["text"]["div"]


def test_a_reading_keeps_unit_side_tool_and_error() -> None:
    """Flexion of 95 and 145 degrees by long goniometer, where 10 are beyond error (Hancock 2018)."""
    tree = document(example(HANDBALL))
    ((right,), (left,)) = (observations(tree, "passive_flexion", side) for side in ("right", "left"))
    assert {**right["valueQuantity"], **DEGREES, "value": 95} == right["valueQuantity"]
    assert left["valueQuantity"]["value"] == 145
    assert [code_of(each["interpretation"][0]) for each in (right, left)] == ["A", "N"]
    assert right["method"] == {"text": "long goniometer"}
    difference, detectable = right["component"]
    assert (difference["valueQuantity"]["value"], detectable["valueQuantity"]["value"]) == (-50, 10)
    assert "Hancock 2018" in right["note"][-1]["text"]
    (extension,) = right["valueQuantity"]["extension"]
    assert extension["url"] == "http://hl7.org/fhir/StructureDefinition/iso21090-uncertainty"
    assert extension["valueDecimal"] == pytest.approx(10 / (1.96 * 2**0.5), abs=5e-4)  # MDC = 1.96 SEM sqrt 2


def test_a_norm_stands_at_the_number_that_it_is_about() -> None:
    """Healthy sides differ in flexion by 0 to 5 degrees (Shelbourne 2012): a range of the difference."""
    (right,) = observations(document(example(HANDBALL)), "passive_flexion", "right")
    (norm,) = right["component"][0]["referenceRange"]
    assert (norm["low"]["value"], norm["high"]["value"]) == (0, 5)
    assert "Shelbourne 2012" in norm["text"]
    assert "referenceRange" not in right


def test_a_level_is_the_value_and_a_reading_beside_it_a_component() -> None:
    """Lachman 2+ of 9 mm keeps both."""
    (lachman,) = observations(document(example(HANDBALL)), "lachman", "right")
    assert (code_of(lachman["valueCodeableConcept"]), lachman["valueCodeableConcept"]["text"]) == (
        "lachman/2+",
        "2+",
    )
    (reading,) = lachman["component"]
    assert (reading["valueQuantity"]["value"], reading["valueQuantity"]["code"]) == (9, "mm")


def test_a_foot_is_not_a_knee() -> None:
    """What lies beyond the knee is placed on the limb of that side."""
    flat = {"sign": "flat_foot", "side": "left", "state": "abnormal"}
    bent = {"sign": "effusion", "side": "left", "state": "abnormal", "level": "moderate"}
    tree = document(of_findings(flat, bent))
    places = {code_of(each["code"]): code_of(each["bodySite"]) for each in resources(tree, "Observation")}
    assert places == {"flat_foot": "left_limb", "effusion": "left_knee"}


def test_temperature_is_a_vital_sign_of_the_standard_even_without_a_day() -> None:
    """It bears LOINC 8310-5, degrees Celsius and the category that R4 demands; the day is unknown."""
    (sent,) = resources(
        document(of_findings({"sign": "body_temperature", "value": 38.4, "unit": "C"})), "Observation"
    )
    assert (sent["code"]["coding"][0]["system"], code_of(sent["code"])) == ("http://loinc.org", "8310-5")
    assert [code_of(each) for each in sent["category"]] == ["exam", "vital-signs"]
    assert (sent["valueQuantity"]["value"], sent["valueQuantity"]["code"]) == (38.4, "Cel")
    assert sent["_effectiveDateTime"]["extension"][0]["valueCode"] == "unknown"


def test_age_and_sex_are_observed_and_the_patient_stays_unnamed() -> None:
    """R4 has no age and its gender is administrative: those of the record are observations."""
    tree = document(of_findings(patient={"age_years": 45, "sex": "male"}))
    patient = only(tree, "Patient")
    assert not {"gender", "birthDate", "name", "identifier"} & set(patient)
    (age,), (sex,) = observations(tree, "age"), observations(tree, "sex")
    assert (age["valueQuantity"]["value"], age["valueQuantity"]["code"]) == (45, "a")
    assert code_of(sex["valueCodeableConcept"]) == "sex/male"


def test_answers_scores_and_what_was_done_before_are_sent() -> None:
    """A history of both knees, a total in points, and an operation with its day and side."""
    tree = document(
        of_findings(
            examined_on="2026-02-03",
            context={
                "complaint": ["right", "left"],
                "procedure": {"name": "acl_reconstruction", "sides": ["left"], "on": "2025-01-02"},
            },
            history={"giving_way": False, "swelling_onset_hours": 2},
            totals=[{"score": "oks", "value": 31, "side": "left"}],
        )
    )
    (way,), (hours,), (score,) = (
        observations(tree, each) for each in ("giving_way", "swelling_onset_hours", "score/oks")
    )
    assert (way["valueBoolean"], code_of(way["bodySite"])) == (False, "both_knees")
    assert (hours["valueQuantity"]["value"], hours["valueQuantity"]["code"]) == (2, "h")
    assert (score["valueQuantity"]["code"], code_of(score["bodySite"])) == ("{score}", "left_knee")
    done = only(tree, "Procedure")
    assert (done["status"], done["performedDateTime"]) == ("completed", "2025-01-02")
    assert [code_of(each) for each in done["bodySite"]] == ["left_knee"]


def test_images_are_observed_and_stand_behind_what_is_concluded() -> None:
    """One that was read tells what it shows, on its own day; one that was not is registered only."""
    lax = {"sign": "lachman", "side": "right", "state": "abnormal", "level": "2+"}
    scan = {"image": "mri", "side": "right", "on": "2026-02-01", "shows": ["acl_tear"], "words": "Torn."}
    film = {"image": "radiograph", "side": "right", "shows": []}
    unread = {"image": "radiograph", "side": "left"}
    blurred = {"image": "ct", "side": "right", "shows": [], "limited": True}
    tree = document(
        of_findings(
            lax,
            imaging=[scan, film, unread, blurred],
            examined_on="2026-02-03",
            context={"complaint": ["right"], "onset_days": 9},
        )
    )
    (torn,) = observations(tree, "image/mri")
    assert [each["coding"][0]["code"] for each in torn["category"]] == ["imaging"]
    assert torn["effectiveDateTime"] == "2026-02-01"
    assert torn["note"] == [{"text": "Torn."}]
    (shown,) = torn["component"]
    assert (shown["code"]["coding"][0]["code"], shown["valueBoolean"]) == ("acl_tear", True)
    (quiet,), (waits,) = (observations(tree, "image/radiograph", side) for side in ("right", "left"))
    assert [quiet["interpretation"][0]["coding"][0]["code"], "component" in quiet] == ["N", False]
    assert (waits["status"], "interpretation" in waits) == ("registered", False)
    (poor,) = observations(tree, "image/ct")
    assert "interpretation" not in poor
    assert "Of limited value: it rules nothing out" in poor["text"]["div"]
    (acl,) = (
        each for each in resources(tree, "Condition") if each["code"]["coding"][0]["code"] == "acl_tear"
    )
    assert f"urn:uuid:{torn['id']}" in {each["reference"] for each in acl["evidence"][0]["detail"]}


@pytest.mark.parametrize("path", [HANDBALL, ICE], ids=lambda path: path.stem)
def test_no_lesion_is_certain(path: Any) -> None:
    """None is confirmed; from 60% one is provisional, below differential; no probability is 0 or 100."""
    workup = example(path)
    tree = document(workup, signed=SIGNED)
    assert workup.conclusion is not None
    expected = {
        (f"{knee.side}_knee", each.lesion): "provisional" if each.probability >= 0.6 else "differential"
        for knee in workup.conclusion.knees
        for each in knee.any_level()
        if each.probability >= 0.2
    }
    told = {
        (code_of(each["bodySite"][0]), code_of(each["code"])): code_of(each["verificationStatus"])
        for each in resources(tree, "Condition")
    }
    assert told == expected
    chances = [each for one in resources(tree, "RiskAssessment") for each in one["prediction"]]
    assert all(1 <= each["probabilityDecimal"] <= 99 for each in chances)
    assert "conclusionCode" not in only(tree, "DiagnosticReport")


def test_the_numbers_are_the_programs_and_the_problems_the_signers() -> None:
    """The program performs the probabilities; whoever signs asserts problems, with their evidence."""
    tree = document(example(HANDBALL), signed=SIGNED)
    by_name = {entry["fullUrl"]: entry["resource"] for entry in tree["entry"]}
    for chances in resources(tree, "RiskAssessment"):
        assert by_name[chances["performer"]["reference"]]["resourceType"] == "Device"
        assert {by_name[each]["resourceType"] for each in references(chances["basis"])} == {"Observation"}
    for problem in resources(tree, "Condition"):
        assert by_name[problem["asserter"]["reference"]]["name"] == [{"text": "Dr A. Madeup"}]
        evidence = [by_name[each] for each in references(problem["evidence"])]
        assert {each["resourceType"] for each in evidence} == {"Observation"}
    (tear,) = (each for each in resources(tree, "Condition") if code_of(each["code"]) == "acl_tear")
    assert "lachman" in {code_of(by_name[each]["code"]) for each in references(tear["evidence"])}
    versions = {each["value"] for each in only(tree, "Device")["version"]}
    assert versions == {example(HANDBALL).version, example(HANDBALL).edition}


def test_what_cannot_wait_is_flagged_and_told_first() -> None:
    """A torn extensor mechanism on both knees is one flag for a banner, and the letter's first section."""
    tree = document(example(ICE))
    flag, first = only(tree, "Flag"), only(tree, "Composition")["section"][0]
    assert flag["status"] == "active"
    assert flag["code"]["text"].startswith("Both knees, today: Rupture of the extensor mechanism.")
    assert first["title"] == "Cannot wait"
    assert references(first["entry"]) == [f"urn:uuid:{flag['id']}"]
    assert "because" in flag["text"]["div"].lower()


def test_the_sections_are_the_letters_word_for_word() -> None:
    """Everything the letter says as text stands in the narrative, its table of measurements included."""
    workup = example(HANDBALL)
    letter = letter_document(
        build_letter(workup, written_on=WHEN.date(), addressee="Dr B. Invented"), drawn=False
    )
    tree = bundle(workup, letter, when=WHEN)
    page = tree["entry"][0]["resource"]
    divs = [page["text"]["div"], *(each["text"]["div"] for each in page["section"])]
    told = " ".join("".join(ET.fromstring(div).itertext()) for div in divs)  # noqa: S314  made here
    said = [word for word in as_text(letter).split() if word.isalnum()]
    shouted = {word for each in letter.sections for word in each.heading.upper().split()}
    missing = [
        word for word in said if word not in told and word not in {*shouted, *letter.title.upper().split()}
    ]
    assert [word for word in missing if word.capitalize() not in told and word.lower() not in told] == []
    assert [each["title"] for each in page["section"]] == [each.heading for each in letter.sections]


def test_a_conclusion_in_somebodys_own_words_is_not_coded_over_their_head() -> None:
    """Where the signer wrote otherwise, the words are theirs and no lesion is coded; the numbers stay."""
    workup = example(HANDBALL)
    letter = letter_document(build_letter(workup, written_on=WHEN.date()), drawn=False)
    name = "conclusion-right-acl_tear"
    own = {name: Passage(text="In my hands the ligament holds.", computed="", reason="")}
    tree = document_of(workup, in_own_words(letter, own), reworded=own)
    assert faults(tree) == []
    assert resources(tree, "Condition") == []
    (impression,) = (
        each for each in resources(tree, "ClinicalImpression") if "right knee" in each["code"]["text"]
    )
    assert "In my hands the ligament holds." in impression["summary"]
    assert "finding" not in impression
    assert len(resources(tree, "RiskAssessment")) == 2


def test_a_conclusion_left_out_is_not_coded_either() -> None:
    """Who strikes every passage of the conclusion asserts no lesion by it."""
    workup = example(HANDBALL)
    letter = letter_document(build_letter(workup, written_on=WHEN.date()), drawn=False)
    kept = replace(letter, sections=tuple(each for each in letter.sections if each.id != "conclusion"))
    tree = document_of(workup, kept, reworded=("conclusion-right-acl_tear", "conclusion-left"))
    assert faults(tree) == []
    assert resources(tree, "Condition") == []
    assert all("summary" not in each for each in resources(tree, "ClinicalImpression"))


def document_of(workup: Any, letter: Any, **more: Any) -> Tree:
    """The document with a letter that is not the computed one."""
    tree: Tree = json.loads(json.dumps(bundle(workup, letter, when=WHEN, signed=SIGNED, **more)))
    return tree


def test_the_letter_can_come_as_pdf_too() -> None:
    """The report carries the bytes that it was given."""
    (form,) = only(document(example(ICE), pdf=b"%PDF-made-up"), "DiagnosticReport")["presentedForm"]
    assert (form["contentType"], base64.b64decode(form["data"])) == ("application/pdf", b"%PDF-made-up")


def test_what_was_typed_is_text_and_never_markup() -> None:
    """Angle brackets and odd spaces leave a narrative that can be read, and strings that FHIR allows."""
    typed = "<script>1</script> & \u00a0\u2003 \ufffe end"
    tree = document(of_findings({"sign": "lachman", "side": "right", "state": "abnormal", "note": typed}))
    assert faults(tree) == []
    (sent,) = resources(tree, "Observation")
    assert sent["note"] == [{"text": "<script>1</script> &    \ufffd end"}]


def test_an_examination_of_nothing_is_still_a_document() -> None:
    """Without findings, day or examiner there is no impression and no probability, and nothing is wrong."""
    tree = document(run_workup(read({"format": "fabella.examination/1", "id": "x", "origin": "invented"})))
    assert faults(tree) == []
    for kind in ("Observation", "ClinicalImpression", "Condition", "RiskAssessment", "Practitioner"):
        assert resources(tree, kind) == []
