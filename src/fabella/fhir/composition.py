"""The first page of the document and the report that ties its observations together."""

from __future__ import annotations

import base64
from collections.abc import Iterator, Mapping, Sequence

from fabella.fhir.codes import load_codes, open_coding, term_coding
from fabella.fhir.elements import (
    LANGUAGE,
    Tree,
    as_identifier,
    clean,
    concept,
    instant,
    narrative,
    reference,
    references,
    resource,
)
from fabella.fhir.matter import Matter
from fabella.fhir.passages import head, xhtml
from fabella.report import Document


def composition(
    matter: Matter, document: Document, by_section: Mapping[str, Sequence[Tree]], report: Tree
) -> Tree:
    """Return the letter with its sections, each with the resources that it tells of.

    What belongs to a section that the letter does not have hangs at the event, with the report.
    """
    there = {section.id for section in document.sections}
    loose = [each["id"] for name, parts in by_section.items() if name not in there for each in parts]
    signer = matter.person(matter.signer)
    made = resource(
        "Composition",
        matter.names.of("composition"),
        document.title,
        identifier=as_identifier(matter.names.of("letter")),
        status=matter.status,
        type=concept(open_coding("consult_note"), text=document.title),
        subject=matter.patient,
        date=matter.now,
        author=[signer or matter.device],
        title=clean(document.title),
        attester=_attested(matter, signer),
        relatesTo=_replaced(matter),
        event=[_event(matter, [report["id"], *loose])],
        section=list(_sections(document, by_section)),
    )
    return {**made, "text": narrative(head(document), status="additional")}


def report(matter: Matter, conclusion: str, results: Sequence[str], pdf: bytes | None = None) -> Tree:
    """Return the report of all observations, with the conclusion in the words of the letter.

    It has no coded conclusion: a code there would say a lesion without saying how likely it is.
    """
    examiner, signer = matter.person(matter.examiner), matter.person(matter.signer)
    return resource(
        "DiagnosticReport",
        matter.names.of("report"),
        f"Examination of both knees: {conclusion or 'no conclusion'}",
        status=matter.status,
        code=concept(open_coding("consult_note"), text="Examination of both knees"),
        subject=matter.patient,
        effectiveDateTime=matter.day,
        issued=matter.now,
        performer=[examiner] if examiner else None,
        resultsInterpreter=[signer] if signer else None,
        result=references(results),
        conclusion=clean(conclusion),
        presentedForm=None if pdf is None else [_presented(pdf)],
    )


def _presented(pdf: bytes) -> Tree:
    data = base64.b64encode(pdf).decode()
    return {"contentType": "application/pdf", "language": LANGUAGE, "data": data, "title": "Letter"}


def _sections(document: Document, by_section: Mapping[str, Sequence[Tree]]) -> Iterator[Tree]:
    known = load_codes().terms
    for section in document.sections:
        name = f"section_{section.id}"
        entries = references(each["id"] for each in by_section.get(section.id, ()))
        yield {
            "title": clean(section.heading),
            **({"code": concept(term_coding(name))} if name in known else {}),
            "text": narrative(xhtml(section), status="additional"),
            **({"entry": entries} if entries else {}),
        }


def _attested(matter: Matter, signer: Tree | None) -> list[Tree] | None:
    if matter.signed is None or signer is None:
        return None
    return [{"mode": "professional", "time": instant(matter.signed.at), "party": signer}]


def _replaced(matter: Matter) -> list[Tree] | None:
    """The document of the signature before, which this one takes the place of."""
    if matter.signed is None or matter.signed.number == 1:
        return None
    before = as_identifier(matter.document_id(matter.signed.number - 1))
    return [{"code": "replaces", "targetIdentifier": before}]


def _event(matter: Matter, details: Sequence[str]) -> Tree:
    period = {"period": {"start": matter.day, "end": matter.day}} if matter.day else {}
    return {**period, "detail": [reference(each) for each in details]}
