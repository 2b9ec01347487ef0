"""An examination taken apart into statements, one for each thing that can be stated, and put together again.

Two people who write on one examination can then disagree about one statement without touching the others.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, replace
from enum import StrEnum
from typing import Any

from fabella.anatomy import Side
from fabella.record.examination import Answer, Examination, History, Origin
from fabella.record.finding import Finding
from fabella.record.imaging import Imaging
from fabella.record.layout import CONDUCT_KEYS, CONTEXT_KEYS
from fabella.record.passage import Passage
from fabella.record.totals import Procedure, Total
from fabella.record.writer import write_examination


class Part(StrEnum):
    """The part of an examination in which something is stated."""

    CONDUCT = "conduct"
    CONTEXT = "context"
    HISTORY = "history"
    TOTAL = "total"
    IMAGING = "imaging"
    FINDING = "finding"
    PASSAGE = "passage"
    """Of a letter or the patient's page: it belongs to the visit, and stands in no examination file."""


@dataclass(frozen=True, slots=True)
class Key:
    """What can be stated once: a field, question, score, image, sign or passage, of a side or the person."""

    part: Part
    name: str
    side: Side | None = None


Value = Finding | Imaging | Passage | Total | Procedure | tuple[Side, ...] | str | Answer | None
"""What is stated; None states nothing, so that it is unknown or not examined."""


def statements(examination: Examination) -> dict[Key, Value]:
    """Return everything that an examination states, findings in their own order.

    Its identity, day, patient and examiner are no statements: whoever keeps the examination knows them.
    """
    return {key: value for key, value in _each(examination) if value is not None}


def with_statements(blank: Examination, stated: Mapping[Key, Value]) -> Examination:
    """Return a blank examination with everything that is stated."""
    parts: dict[Part, dict[Key, Any]] = {part: {} for part in Part}
    for key, value in stated.items():
        if value is not None:
            parts[key.part][key] = value
    conduct: dict[str, Any] = {key.name: value for key, value in parts[Part.CONDUCT].items()}
    context: dict[str, Any] = {key.name: value for key, value in parts[Part.CONTEXT].items()}
    return replace(
        blank,
        context=replace(blank.context, **context),
        history=History((key.name, value) for key, value in parts[Part.HISTORY].items()),
        totals=tuple(parts[Part.TOTAL].values()),
        imaging=tuple(parts[Part.IMAGING].values()),
        findings=tuple(parts[Part.FINDING].values()),
        **conduct,
    )


def _each(examination: Examination) -> Iterator[tuple[Key, Value]]:
    for name in CONDUCT_KEYS:
        yield Key(Part.CONDUCT, name), getattr(examination, name)
    for name in CONTEXT_KEYS:
        yield Key(Part.CONTEXT, name), getattr(examination.context, name)
    for item, answer in examination.history.items():
        yield Key(Part.HISTORY, item), answer
    for total in examination.totals:
        yield Key(Part.TOTAL, total.score, total.side), total
    for image in examination.imaging:
        yield Key(Part.IMAGING, image.image, image.side), image
    for finding in examination.findings:
        yield Key(Part.FINDING, finding.sign, finding.side), finding


_BLANK = Examination(id="one", origin=Origin.PATIENT)


def plain(key: Key, value: Value) -> object:
    """Return a value as it is written in an examination file; None when nothing is stated."""
    if value is None:
        return None
    if isinstance(value, Passage):
        return asdict(value)
    tree = json.loads(write_examination(with_statements(_BLANK, {key: value})))
    match key.part:
        case Part.FINDING:
            return tree["findings"][0]
        case Part.TOTAL:
            return tree["totals"][0]
        case Part.IMAGING:
            return tree["imaging"][0]
        case Part.HISTORY:
            return tree["history"][key.name]
        case Part.CONTEXT:
            return tree["context"][key.name]
        case Part.CONDUCT:
            return tree[key.name]
        case Part.PASSAGE:
            raise TypeError("a passage is stated as one")
