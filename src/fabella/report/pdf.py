"""A page as PDF: tagged, with title, language and alternative text; the same page gives the same bytes."""

from __future__ import annotations

import json
import re
import threading
from collections.abc import Mapping
from datetime import date
from functools import cache
from importlib.resources import files
from typing import Final

import typst

from fabella.report.document import Document, document_tree
from fabella.report.wording import unbroken

STANDARD: Final = "ua-1"
"""PDF/UA-1; the compiler refuses a figure without words."""

_LATIN_ENDS, _BOX = "\u0250", "□"
_MOVES = re.compile(r"(?<!\\)((?:\\\\)*)\\[rt]")
"""A tab or the return before a line break, as JSON writes them: no font has them where a line begins."""
_CONTROL = re.compile(r"(?<!\\)((?:\\\\)*)\\(?:u00[01][0-9a-f]|[bf])")
"""Any other control character, as JSON writes it."""
_HALF = re.compile("[\x7f-\x9f\ud800-\udfff\ufffe\uffff]")
"""Halves of characters, and what is none."""
_MARK = "\ufeff"  # of byte order, from the head of a file; no page may hold it
_ALONE = b'#set document(title: "-")\n#sys.inputs.document'

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
    day = {"year": written_on.year, "month": written_on.month, "day": written_on.day}
    return compiled(_template(), {**document_tree(document), **day})


def compiled(template: bytes, data: Mapping[str, object]) -> bytes:
    """Return a PDF file: a template filled with data; the same data give the same bytes.

    A character that no font has, as in a comment typed on a tablet or a name, is printed as an empty box, as
    is a control character or half of a character; a tab is printed as a space.
    """
    written = json.dumps(data, ensure_ascii=False, sort_keys=True)
    document = _MOVES.sub(r"\1 ", unbroken(written)).replace(_MARK, "")
    document = _HALF.sub(_BOX, _CONTROL.sub(rf"\1{_BOX}", document))
    try:
        return _made(template, document)
    except typst.TypstError:
        boxed = "".join(each if each < _LATIN_ENDS or _has(each) else _BOX for each in document)
        if boxed == document:
            raise
        return _made(template, boxed)


def _made(template: bytes, document: str) -> bytes:
    written = _compiler().compile(
        template,
        format="pdf",
        sys_inputs={"document": document},
        pdf_standards=STANDARD,
    )
    if not isinstance(written, bytes):
        raise TypeError("one file was asked for, and not one came back")
    return written


@cache
def _has(character: str) -> bool:
    """Say whether a font has a character: whether a page with nothing else can be made."""
    try:
        _made(_ALONE, character)
    except typst.TypstError:
        return False
    return True


def _compiler() -> typst.Compiler:
    """Return this thread's own compiler: it keeps the fonts, and serves one at a time."""
    if not hasattr(_own, "compiler"):
        _own.compiler = typst.Compiler(ignore_system_fonts=True)
    compiler: typst.Compiler = _own.compiler
    return compiler


@cache
def _template() -> bytes:
    return files("fabella.report").joinpath("page.typ").read_bytes()
