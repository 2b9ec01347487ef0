"""A page as PDF: tagged, with title, language and alternative text; the same page gives the same bytes."""

from __future__ import annotations

import json
import threading
from collections.abc import Mapping
from dataclasses import asdict
from datetime import date
from functools import cache
from importlib.resources import files
from typing import Final

import typst

from fabella.report.document import Document
from fabella.report.wording import unbroken

STANDARD: Final = "ua-1"
"""PDF/UA-1; the compiler refuses a figure without words."""

_own = threading.local()


def as_pdf(document: Document, *, written_on: date) -> bytes:
    """Return a page as a PDF file.

    Parameters
    ----------
    document
        The page. Its text is handed over as data, never as source.
    written_on
        The date stamped into the file, so that the same page gives the same bytes.
    """
    return compiled(_template(), _data(document, written_on))


def compiled(template: bytes, data: Mapping[str, object]) -> bytes:
    """Return a PDF file: a template filled with data; the same data give the same bytes."""
    document = unbroken(json.dumps(data, ensure_ascii=False, sort_keys=True))
    written = _compiler().compile(
        template,
        format="pdf",
        sys_inputs={"document": document},
        pdf_standards=STANDARD,
    )
    if not isinstance(written, bytes):
        raise TypeError("one file was asked for, and not one came back")
    return written


def _compiler() -> typst.Compiler:
    """Return this thread's own compiler: it keeps the fonts, and serves one at a time."""
    if not hasattr(_own, "compiler"):
        _own.compiler = typst.Compiler(ignore_system_fonts=True)
    compiler: typst.Compiler = _own.compiler
    return compiler


def _data(document: Document, written_on: date) -> dict[str, object]:
    """The page as plain data, each block with its kind."""
    sections = [
        {
            "heading": section.heading,
            "urgent": section.urgent,
            "blocks": [{"kind": type(block).__name__, **asdict(block)} for block in section.blocks],
        }
        for section in document.sections
    ]
    day = {"year": written_on.year, "month": written_on.month, "day": written_on.day}
    return {**asdict(document), **day, "sections": sections}


@cache
def _template() -> bytes:
    return files("fabella.report").joinpath("page.typ").read_bytes()
