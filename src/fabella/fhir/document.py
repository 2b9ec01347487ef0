"""The document as a whole: a Bundle whose first entry is the Composition with the letter's sections."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import datetime

from fabella.anatomy import Side, load_lesions
from fabella.fhir.background import answers, circumstances, procedure, totals
from fabella.fhir.codes import open_coding
from fabella.fhir.composition import composition, report
from fabella.fhir.conclusions import Concluded, concluded
from fabella.fhir.elements import LANGUAGE, Tree, as_identifier, cleaned
from fabella.fhir.imaging import images
from fabella.fhir.matter import Identity, Matter, Signed
from fabella.fhir.observations import findings
from fabella.fhir.passages import lines
from fabella.fhir.people import device, patient, practitioners, provenance
from fabella.fhir.warnings import flags
from fabella.protocol import load_protocol
from fabella.record import Origin
from fabella.report import Document, readings_of
from fabella.report.conclusion_words import knee_words
from fabella.workup import Workup


def bundle(
    workup: Workup,
    document: Document,
    *,
    when: datetime,
    signed: Signed | None = None,
    identity: Identity | None = None,
    issuer: str = "",
    reworded: Collection[str] = (),
    pdf: bytes | None = None,
    practice: bool = False,
) -> Tree:
    """Return a worked-up examination as a document of HL7 FHIR R4 (4.0.1): a Bundle of type ``document``.

    The same arguments give the same document, to the last byte of `as_json`.

    Parameters
    ----------
    workup
        The examination and what it came to.
    document
        The letter about it, computed or as it was signed; its sections are sent as they stand.
    when
        The moment at which it is put together, with a time zone; of a signed one, that of the signature.
    signed
        Who signed and when; None marks everything as preliminary.
    identity
        Who the patient is to the sender; None when no more is known than the record tells.
    issuer
        Who numbers these examinations, such as the hospital: it goes into every id, so that two places that
        number alike never send the same ids for different patients.
    reworded
        Ids of the letter's passages that somebody put in their own words. A conclusion about a knee so put
        is sent in those words, without coded problems.
    pdf
        The letter as PDF, for whoever shows nothing else; None leaves it out.
    practice
        Marks it as an exercise; what is not about a real patient is labelled as test data in any case.

    Raises
    ------
    InputError
        When a time has no time zone.
    """
    matter = Matter(
        workup=workup,
        when=when,
        signed=signed,
        identity=identity,
        issuer=issuer,
        test=practice or workup.examination.origin is not Origin.PATIENT,
    )
    parts = _parts(matter, document, reworded, pdf)
    first = composition(matter, document, parts.by_section, parts.report)
    about = (
        patient(matter),
        *practitioners(matter),
        device(matter),
        parts.report,
        *(each for section in parts.by_section.values() for each in section),
        provenance(matter, first["id"]),
    )
    identifier = matter.document_id()
    whole: Tree = {
        "resourceType": "Bundle",
        "id": identifier,
        "language": LANGUAGE,
        "identifier": as_identifier(identifier),
        "type": "document",
        "timestamp": matter.now,
        "entry": [
            {"fullUrl": f"urn:uuid:{each['id']}", "resource": _labelled(matter, each)}
            for each in (first, *about)
        ],
    }
    done: Tree = cleaned(_labelled(matter, whole))
    return done


@dataclass(frozen=True, slots=True, kw_only=True)
class _Parts:
    """The resources of each section of the letter, by its id, and the report that ties them together."""

    by_section: dict[str, tuple[Tree, ...]]
    report: Tree


def _parts(matter: Matter, document: Document, reworded: Collection[str], pdf: bytes | None) -> _Parts:
    protocol = load_protocol()
    found = dict(findings(matter, readings_of(matter.workup), protocol))
    told = dict(answers(matter, protocol))
    pictures = dict(images(matter, load_lesions()))
    background = (*circumstances(matter), *told.values(), *totals(matter))
    ids = {place: each["id"] for place, each in (*found.items(), *told.items(), *pictures.items())}
    conclusion = "\n".join(
        line for section in document.sections if section.id == "conclusion" for line in lines(section)
    )
    seen = (*found.values(), *pictures.values(), *background)
    said = _concluded(matter, ids, conclusion, reworded)
    return _Parts(
        by_section={
            "urgent": tuple(flags(matter)),
            "history": (*background, *procedure(matter)),
            "findings": tuple(found.values()),
            "imaging": tuple(pictures.values()),
            "conclusion": tuple(each for knee in said for each in knee.all),
        },
        report=report(matter, conclusion, [each["id"] for each in seen], pdf),
    )


def _concluded(
    matter: Matter, ids: dict[tuple[str, Side | None], str], conclusion: str, reworded: Collection[str]
) -> Iterator[Concluded]:
    if matter.workup.conclusion is None:
        return
    readings, lesions, protocol = readings_of(matter.workup), load_lesions(), load_protocol()
    for side in Side:
        knee = matter.workup.conclusion.knee(side)
        words = knee_words(knee, readings, lesions, protocol)
        instead = conclusion if _is_reworded(side, reworded) else None
        if made := concluded(matter, knee, words, ids, instead):
            yield made


def _is_reworded(side: Side, reworded: Collection[str]) -> bool:
    """Whether anything of the conclusion about a knee, or of the conclusion as a whole, is somebody's own."""
    whole = ("conclusion-own", "conclusion-none")
    return any(each.startswith(f"conclusion-{side}") or each in whole for each in reworded)


def _labelled(matter: Matter, tree: Tree) -> Tree:
    """Mark a resource as test data unless it is about a real patient; receivers may keep it alone."""
    if not matter.test:
        return tree
    kind, identity, *rest = tree.items()
    return dict([kind, identity, ("meta", {"security": [open_coding("test_data")]}), *rest])
