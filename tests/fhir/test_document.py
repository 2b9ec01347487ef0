"""Documents held against the standard's own schema, value sets and invariants, and against the record."""

from __future__ import annotations

import copy
import json
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings

from fabella.fhir import as_json, bundle
from fabella.protocol import Kind
from fabella.record import Examination, Origin, State, read_examination
from fabella.report import build_letter, letter_document
from fabella.workup import run_workup
from tests.fhir.made import EXAMPLES, HANDBALL, PROTOCOL, WHEN, document, example
from tests.fhir.standard import INVARIANTS, Tree, faults, references, resources, taken
from tests.strategies import examinations


def recorded(examination: Examination) -> int:
    """How many statements of a record are due an Observation, counted without the code that sends."""
    courtesies = {sign.id for sign in PROTOCOL.signs if sign.kind is Kind.COURTESY}
    context = examination.context
    found = [
        each
        for each in examination.findings
        if each.state is not State.NOT_EXAMINED and each.sign not in courtesies
    ]
    circumstances = (
        examination.patient.age_years,
        examination.patient.sex,
        context.setting,
        context.acuity,
        context.onset_days,
        context.mechanism or context.mechanism_words,
    )
    known = sum(each is not None for each in circumstances)
    complaints = len(context.complained_of) or context.without_complaint
    listed = (found, examination.history, examination.totals, examination.imaging)
    return sum(map(len, listed)) + complaints + known


def whole(tree: Tree) -> None:
    """Check that every reference resolves, and that the Composition leads to all but the provenance."""
    by_name = {entry["fullUrl"]: entry["resource"] for entry in tree["entry"]}
    assert len(by_name) == len(tree["entry"])
    assert all(f"urn:uuid:{each['id']}" == name for name, each in by_name.items())
    assert {each for every in by_name.values() for each in references(every)} <= set(by_name)
    reached: set[str] = set()
    waiting = [tree["entry"][0]["fullUrl"]]
    while waiting:
        if (name := waiting.pop()) not in reached:
            reached.add(name)
            waiting += references(by_name[name])
    assert {by_name[each]["resourceType"] for each in set(by_name) - reached} == {"Provenance"}


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_the_standard_has_nothing_against_an_example(path: Path, tell: Callable[[str], None]) -> None:
    """Schema, value sets and invariants of the standard find no fault with any example, and it is whole."""
    workup = example(path)
    start = time.perf_counter()
    tree = document(workup)
    took = time.perf_counter() - start
    assert faults(tree) == []
    whole(tree)
    observed = len(resources(tree, "Observation"))
    assert observed == recorded(workup.examination)
    size = len(as_json(tree)) // 1000
    tell(
        f"FHIR {path.stem}: {len(tree['entry'])} resources, {observed} observations, {size} kB, {took:.3f} s"
    )


def test_the_standard_has_nothing_against_what_has_changed_since() -> None:
    """The letter of a later visit is sent with its two sections, coded as ours, and no resource more."""
    folder = HANDBALL.parent / "follow"
    *earlier, now = (
        read_examination(line, protocol=PROTOCOL, today=WHEN.date())
        for line in (folder / "torn_ligament.jsonl").read_text("utf-8").splitlines()
    )
    workup = run_workup(now)
    letter = letter_document(build_letter(workup, written_on=WHEN.date(), earlier=earlier), drawn=False)
    tree = json.loads(as_json(bundle(workup, letter, when=WHEN)))
    assert faults(tree) == []
    whole(tree)
    sections = tree["entry"][0]["resource"]["section"]
    assert [each["title"] for each in sections][1:3] == ["Since 22 July 2024", "Since 8 April 2024"]
    codes = [each["code"]["coding"][0]["code"] for each in sections][1:3]
    assert [each.replace("-", "_") for each in codes] == ["section_since", "section_beginning"]
    assert len(tree["entry"]) == len(document(workup)["entry"])


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(examinations(PROTOCOL))
def test_any_examination_is_a_document_of_the_standard(examination: Examination) -> None:
    """Whatever may stand in a file: nothing breaks the standard, everything recorded is sent exactly once."""
    tree = document(run_workup(examination))
    assert faults(tree) == []
    whole(tree)
    assert len(resources(tree, "Observation")) == recorded(examination)
    sent = Counter(each["id"] for each in resources(tree))
    assert set(sent.values()) == {1}
    told = Counter(
        (
            each["code"]["coding"][-1]["code"],
            each.get("bodySite", {}).get("text", "").partition(" ")[0].lower(),
        )
        for each in resources(tree, "Observation")
        if each["category"][0].get("coding", [{}])[0]["code"] == "exam"
    )
    courtesies = {sign.id for sign in PROTOCOL.signs if sign.kind is Kind.COURTESY}
    assert told == {
        (each.sign, each.side or ""): 1
        for each in examination.findings
        if each.state is not State.NOT_EXAMINED and each.sign not in courtesies
    }
    marked = ["meta" in each for each in (tree, *resources(tree))]
    assert set(marked) == {examination.origin is not Origin.PATIENT}


@pytest.mark.parametrize(
    ("kind", "spoil", "says"),
    [
        ("Observation", lambda each: each.update(status="bogus"), "status"),
        ("Observation", lambda each: each.update(colour="red"), "colour"),
        ("Observation", lambda each: each.pop("code"), "code"),
        ("Observation", lambda each: each.update(effectiveDateTime="yesterday"), "effectiveDateTime"),
        ("Observation", lambda each: each.update(id="no id!"), "id"),
        ("Patient", lambda each: each.update(birthDate="3 May"), "birthDate"),
        ("Condition", lambda each: each["verificationStatus"]["coding"][0].update(code="sure"), "ver-status"),
        ("Composition", lambda each: each["section"].append({"title": "Empty"}), "cmp-1"),
        ("Composition", lambda each: each["text"].update(div="<div>No namespace</div>"), "narrative"),
        ("RiskAssessment", lambda each: each["prediction"][0].update(probabilityDecimal=101), "ras-2"),
    ],
)
def test_what_is_not_of_the_standard_is_found(kind: str, spoil: Callable[[Tree], Any], says: str) -> None:
    """The checks above can fail: a document spoilt in one place is refused for it."""
    tree = copy.deepcopy(document(example(HANDBALL)))
    spoil(resources(tree, kind)[0])
    assert any(says in fault for fault in faults(tree))


def test_every_invariant_of_the_standard_is_read() -> None:
    """What the standard demands of the resources that are sent is in our reading of it, and nothing else."""
    keys = {
        rule["key"] for rules in taken("invariants").values() if isinstance(rules, list) for rule in rules
    }
    assert keys == set(INVARIANTS)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_the_same_examination_gives_the_same_bytes(path: Path) -> None:
    """Made twice, from two workups, the text of the document is the same to the last byte."""
    workup = example(path)
    letter = letter_document(build_letter(workup, written_on=WHEN.date()), drawn=False)
    again = run_workup(workup.examination)
    assert as_json(bundle(workup, letter, when=WHEN)) == as_json(bundle(again, letter, when=WHEN))


def test_the_text_is_json_that_any_reader_takes() -> None:
    """It is strict JSON in UTF-8, without numbers that have no end, and ends with a line break."""
    workup = example(HANDBALL)
    letter = letter_document(build_letter(workup, written_on=WHEN.date()), drawn=False)
    text = as_json(bundle(workup, letter, when=WHEN))
    assert text.encode()
    assert text.endswith("}\n")
    json.loads(text, parse_constant=pytest.fail)
