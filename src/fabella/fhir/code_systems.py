"""Our code systems as resources, so that a receiver can look up whatever code stands in a document."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import fabella
from fabella.anatomy import load_lesions
from fabella.fhir.background import BACKGROUND
from fabella.fhir.codes import OwnSystem, level_code, load_codes
from fabella.fhir.elements import LANGUAGE, Tree, cleaned, resource
from fabella.protocol import Kind, load_protocol
from fabella.record import SCORES, Acuity, ImageKind, Mechanism, ProcedureName, Setting, Sex
from fabella.report.imaging_words import image_name
from fabella.stats.written import spaced
from fabella.workup import load_rules

_CHOICES = {
    "sex": Sex,
    "setting": Setting,
    "acuity": Acuity,
    "mechanism": Mechanism,
    "procedure": ProcedureName,
}


def code_systems() -> Tree:
    """Return a Bundle of type ``collection`` with every code system of ours that documents use."""
    own = load_codes().own
    concepts = {
        "finding": _findings(),
        "background": _background(),
        "lesion": _lesions(),
        "rule": (_concept(each.id, each.name, each.action) for each in load_rules().values()),
        "term": (_concept(code, display) for code, display in load_codes().terms.items()),
    }
    made = [_system(own[name], list(each)) for name, each in concepts.items()]
    whole: Tree = cleaned(
        {
            "resourceType": "Bundle",
            "language": LANGUAGE,
            "type": "collection",
            "entry": [{"fullUrl": f"urn:uuid:{each['id']}", "resource": each} for each in made],
        }
    )
    return whole


def _system(system: OwnSystem, concepts: list[Tree]) -> Tree:
    return resource(
        "CodeSystem",
        system.uri.removeprefix("urn:uuid:"),
        system.title,
        url=system.uri,
        version=fabella.__version__,
        name=system.name,
        title=system.title,
        status="active",
        publisher="Fabella",
        caseSensitive=True,
        hierarchyMeaning="part-of",
        content="complete",
        count=len(concepts) + sum(len(each.get("concept", ())) for each in concepts),
        concept=concepts,
    )


def _findings() -> Iterator[Tree]:
    for sign in load_protocol().signs:
        if sign.kind is not Kind.COURTESY:
            levels = ((level_code(sign.id, each.id), each.words) for each in sign.scale.levels)
            yield _concept(sign.id, sign.name, sign.technique, levels)


def _background() -> Iterator[Tree]:
    for name, display in BACKGROUND.items():
        choices = ((level_code(name, each), spaced(each)) for each in _CHOICES.get(name, ()))
        yield _concept(name, display, parts=choices)
    for score in SCORES.values():
        yield _concept(level_code("score", score.id), score.name)
    for image in ImageKind:
        yield _concept(level_code("image", image), image_name(image))


def _lesions() -> Iterator[Tree]:
    for lesion in load_lesions().values():
        several = lesion.levels if len(lesion.levels) > 1 else ()
        levels = ((level_code(lesion.id, each.id), f"{lesion.name}, {each.words}") for each in several)
        yield _concept(lesion.id, lesion.name, parts=levels)


def _concept(code: str, display: str, definition: str = "", parts: Iterable[tuple[str, str]] = ()) -> Tree:
    below = [{"code": part, "display": words} for part, words in parts]
    return {
        "code": code,
        "display": display,
        **({"definition": definition} if definition else {}),
        **({"concept": below} if below else {}),
    }
