"""What is told of a candidate's result when it is decided: their page, and how it came about, to be kept."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date
from math import isnan, nan
from typing import Any

from fabella.papers import SheetGround, Standing
from fabella.report import Document, as_pdf
from fabella.report.document import document_of, document_tree

_NUMBERS = ("own", "error", "cut", "low", "high")


@dataclass(frozen=True, slots=True, kw_only=True)
class ToldPage:
    """A candidate's page, and what their result rests on, for an appeal.

    ``how`` says how scores become the whole one, ``standings`` where they stand on the whole and by station,
    ``sheets`` how each sheet was scored.
    """

    document: Document
    how: str
    standings: tuple[Standing, ...]
    sheets: tuple[SheetGround, ...]


def told_tree(page: ToldPage) -> dict[str, Any]:
    """Return it as plain data; numbers that are not known are null."""
    return {
        "document": document_tree(page.document),
        "how": page.how,
        "standings": [{"title": each.title, **_numbers(each)} for each in page.standings],
        "sheets": [asdict(each) for each in page.sheets],
    }


def _numbers(each: Standing) -> dict[str, float | None]:
    return {name: None if isnan(value := getattr(each, name)) else value for name in _NUMBERS}


def told_of_tree(tree: dict[str, Any]) -> ToldPage:
    """Return what `told_tree` made plain data of."""
    return ToldPage(
        document=document_of(tree["document"]),
        how=tree["how"],
        standings=tuple(
            Standing(
                title=each["title"],
                **{name: nan if each[name] is None else each[name] for name in _NUMBERS},
            )
            for each in tree["standings"]
        ),
        sheets=tuple(SheetGround(**each) for each in tree["sheets"]),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Printed:
    """Pages to be printed, each with the name of its file, and the day stamped into them."""

    day: date
    pages: tuple[tuple[str, Document], ...]


def printed(asked: Printed) -> tuple[tuple[str, bytes], ...]:
    """Return the name and content of each page as PDF."""
    return tuple((name, as_pdf(each, written_on=asked.day)) for name, each in asked.pages)
