"""One measurement: its norms, its errors, and the signs that are held against them."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import Http404, HttpResponse

from fabella.evidence import load_edition
from fabella.protocol import Sign, load_protocol
from fabella.web.door import enter_known
from fabella.web.evidence.measures import (
    ErrorRow,
    NormRow,
    error_rows,
    held_against,
    measure_name,
    norm_rows,
)
from fabella.web.templating import render, said
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasurePage:
    """Norms and errors of one measurement."""

    template: ClassVar[str] = "evidence_measure.html"

    name: str = field(metadata=said("Name of the measurement."))
    norms: tuple[NormRow, ...] = field(metadata=said("Norms, in the order of the tables."))
    errors: tuple[ErrorRow, ...] = field(metadata=said("Errors of measuring, in the order of the tables."))
    signs: tuple[Sign, ...] = field(metadata=said("Signs whose readings are held against it."))
    edition: str = field(metadata=said("Edition of the evidence."))


@enter_known()
def evidence_measure(request: Request, measure: str) -> HttpResponse:
    """Show a measurement."""
    edition = load_edition()
    norms, errors = norm_rows(edition, measure), error_rows(edition, measure)
    if not norms and not errors:
        raise Http404
    page = MeasurePage(
        name=measure_name(edition, measure),
        norms=norms,
        errors=errors,
        signs=held_against(load_protocol(), measure),
        edition=edition.id,
    )
    return render(request, page)
