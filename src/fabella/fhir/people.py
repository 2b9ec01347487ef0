"""Who and what a document names: patient, practitioners, the program, and how they came together."""

from __future__ import annotations

from collections.abc import Iterator

from fabella.fhir.codes import load_codes, term_coding
from fabella.fhir.elements import Tree, clean, concept, open_concept, reference, resource
from fabella.fhir.matter import Matter


def patient(matter: Matter) -> Tree:
    """Return the patient as far as the record knows them.

    Age and sex of the body are observations: R4 has no age, and its gender is that of the administration.
    """
    known = matter.identity
    label = clean((known.label if known else matter.workup.examination.patient.label) or "")
    named = {"name": [{"text": label}]} if label else {}
    number = clean(known.number) if known else ""
    numbered = {"identifier": [{"value": number}]} if number else {}
    born = {"birthDate": known.birth_date.isoformat()} if known and known.birth_date else {}
    return resource("Patient", matter.patient_id, label or "Patient, not named", **numbered, **named, **born)


def practitioners(matter: Matter) -> Iterator[Tree]:
    """Yield who examined and who signed, one resource a person."""
    for name in dict.fromkeys(filter(None, (matter.signer, matter.examiner))):
        yield resource("Practitioner", matter.person_id(name), name, name=[{"text": name}])


def device(matter: Matter) -> Tree:
    """Return the program with its version and the edition of the evidence, so that it can be made again."""
    version, edition = matter.workup.version, matter.workup.edition
    return resource(
        "Device",
        matter.device_id,
        f"Fabella {version}, evidence edition {edition}",
        deviceName=[{"name": "Fabella", "type": "model-name"}],
        version=[
            {"type": concept(term_coding("program")), "value": version},
            {"type": concept(term_coding("edition")), "value": edition},
        ],
    )


def provenance(matter: Matter, composition_id: str) -> Tree:
    """Return how the document came about: put together by the program, of what, and signed by whom."""
    examination = matter.workup.examination
    agents = [{"type": open_concept("assembler"), "who": matter.device}]
    if signer := matter.person(matter.signer):
        agents.append({"type": open_concept("author"), "who": signer})
    words = f"Put together by Fabella from examination {examination.id}"
    return resource(
        "Provenance",
        matter.names.of("provenance", *([str(matter.signed.number)] if matter.signed else [])),
        words if examination.source is None else f"{words}: {examination.source}",
        target=[reference(composition_id)],
        recorded=matter.now,
        agent=agents,
        entity=[
            {
                "role": "source",
                "what": {
                    "identifier": {"system": load_codes().own["examination"].uri, "value": examination.id},
                    "display": f"Examination file {examination.id}",
                },
            }
        ],
    )
