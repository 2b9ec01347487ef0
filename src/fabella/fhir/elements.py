"""The small parts of every resource: ids, references, concepts, quantities, narrative."""

from __future__ import annotations

import html
import json
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any
from uuid import UUID, uuid5

from fabella.fhir.codes import UCUM, Coding, load_codes, open_coding

Tree = dict[str, Any]
"""A resource or a part of one, as JSON."""

LANGUAGE = "en-GB"

_OURS = UUID("4f9af309-4998-4446-9ffc-47328387e544")
_NOT_IN_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_XHTML = "http://www.w3.org/1999/xhtml"


@dataclass(frozen=True, slots=True, kw_only=True)
class Names:
    """How the parts of one document are named: by UUIDs that follow from whose examination it is of.

    ``issuer`` tells apart places that number their examinations alike; ``examination`` is its id there.
    """

    issuer: str
    examination: str

    def of(self, kind: str, *what: str) -> str:
        """Return the id of a part of this examination: the same for the same part, whenever it is made."""
        return self._named("examination", self.examination, kind, *what)

    def anywhere(self, kind: str, *what: str) -> str:
        """Return the id of what this place has beyond one examination: a patient, a practitioner."""
        return self._named("place", kind, *what)

    def _named(self, *what: str) -> str:
        return str(uuid5(_OURS, "\n".join(part.replace("\n", " ") for part in (self.issuer, *what))))


def resource(kind: str, identity: str, words: str, **fields: Any) -> Tree:
    """Return a resource with its id and a narrative of one paragraph, without the fields that are empty."""
    told = {name: value for name, value in fields.items() if value not in (None, "", [], {})}
    text = narrative([f"<p>{escaped(words)}</p>"])
    return {"resourceType": kind, "id": identity, "language": LANGUAGE, "text": text, **told}


def narrative(parts: Iterable[str], *, status: str = "generated") -> Tree:
    """Return a narrative of XHTML parts; ``additional`` when it says more than the structured data."""
    div = f'<div xmlns="{_XHTML}" lang="{LANGUAGE}" xml:lang="{LANGUAGE}">{"".join(parts)}</div>'
    return {"status": status, "div": div}


def clean(text: str) -> str:
    """Return a text that FHIR allows: no space but the plain ones, no character that XML forbids."""
    kept = "".join(" " if each.isspace() and each not in " \t\r\n" else each for each in text)
    return _NOT_IN_XML.sub("\ufffd", kept.replace("\ufeff", "")).strip()


def cleaned(tree: Any) -> Any:
    """Return a tree with every text as FHIR allows it."""
    if isinstance(tree, dict):
        return {name: cleaned(each) for name, each in tree.items()}
    if isinstance(tree, list):
        return [cleaned(each) for each in tree]
    return clean(tree) if isinstance(tree, str) else tree


def escaped(text: str) -> str:
    """Return a text as XHTML, with its line breaks."""
    return html.escape(clean(text)).replace("\r\n", "\n").replace("\r", "\n").replace("\n", "<br/>")


def reference(identity: str, display: str = "") -> Tree:
    """Return a reference to a resource of the same document."""
    return {"reference": f"urn:uuid:{identity}", **({"display": clean(display)} if clean(display) else {})}


def references(identities: Iterable[str]) -> list[Tree]:
    """Return references to resources of the same document, each once."""
    return [reference(each) for each in dict.fromkeys(identities)]


def concept(*codings: Coding, text: str = "") -> Tree:
    """Return a concept by its codes, in words where those are given; else in those of its first code."""
    words = clean(text) or (codings[0]["display"] if codings else "")
    return {**({"coding": list(codings)} if codings else {}), **({"text": words} if words else {})}


def open_concept(name: str) -> Tree:
    """Return a concept of an open system by its id in the table."""
    return {"coding": [open_coding(name)]}


def quantity(value: float, unit: str) -> Tree:
    """Return a reading with the unit of the record and its UCUM code."""
    code = load_codes().ucum[unit]
    return {"value": number(value), "unit": unit, "system": UCUM, "code": code}


def number(value: float) -> float | int:
    """Return a number as it is read: 95, not 95.0, and no negative nought."""
    return int(value) if value == int(value) else value


def notes(*texts: str) -> list[Tree]:
    """Return annotations of those texts that say something."""
    return [{"text": each} for each in map(clean, texts) if each]


def instant(when: datetime) -> str:
    """Return a moment as the standard writes it, in universal time to the second."""
    return when.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def joined(parts: Sequence[str], between: str = "; ") -> str:
    """Return those parts that say something, in one text."""
    return between.join(filter(None, parts))


def as_identifier(identity: str) -> Tree:
    """Return a business identifier that is a UUID."""
    return {"system": "urn:ietf:rfc:3986", "value": f"urn:uuid:{identity}"}


def as_json(tree: Tree) -> str:
    """Return a resource as indented JSON in UTF-8, ended by a line break."""
    return json.dumps(tree, ensure_ascii=False, indent=2) + "\n"
