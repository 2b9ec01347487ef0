"""Published patients: the format in which they are kept, and everything that can be wrong with it."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files

from fabella.errors import InputError, Problem, Problems

CaseAnswer = bool | float | str
"""An answer of the history as published: yes, no, a number, or a word such as "immediate"."""

_AGE_IN_MONTHS = re.compile(r"^\s*(\d+(?:\.\d+)?)\s*(?:-| )?(?:mo|months?|m)\b")


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseFinding:
    """One finding in the words of a published case; empty texts were not given."""

    sign: str
    side: str = ""
    value: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PublishedCase:
    """One published patient, in the words of the case.

    ``diagnoses`` were confirmed later and are never shown to the program; ``accept`` names further
    diagnoses that count as right. ``red_flag``, ``urgent`` and ``misleading_exam`` are the judgement of
    whoever gathered the case; ``gathered`` names the round in which that was done, if there were several.
    """

    id: str
    source: str
    identifier: str = ""
    age_years: float | None = None
    sex: str = ""
    setting: str = ""
    side: str = ""
    acuity: str = ""
    onset_days: float | None = None
    mechanism: str = ""
    history: tuple[tuple[str, CaseAnswer], ...] = ()
    findings: tuple[CaseFinding, ...] = ()
    diagnoses: tuple[str, ...] = ()
    primary_diagnosis: str = ""
    accept: tuple[str, ...] = ()
    red_flag: bool = False
    urgent: bool = False
    misleading_exam: bool = False
    note: str = ""
    gathered: str = ""


def packaged_cases() -> tuple[PublishedCase, ...]:
    """Return the published cases that come with the package."""
    return read_cases(files("fabella.audit").joinpath("published_cases.json").read_text("utf-8"))


def read_cases(text: str | bytes) -> tuple[PublishedCase, ...]:
    """Return the cases of a JSON list.

    Keys that are no part of the format are left alone: such lists are kept for other uses as well.

    Raises
    ------
    InputError
        Listing everything wrong with the list: what is no object, lacks an id or holds the wrong kind of
        value.
    """
    problems = Problems()
    cases = [_Row(row, number, problems).case() for number, row in enumerate(_rows(text), start=1)]
    seen: set[str] = set()
    for case in cases:
        if case.id and case.id in seen:
            problems.add(f"case {case.id}", case.id, "stands here twice", "keep one")
        seen.add(case.id)
    problems.raise_any()
    return tuple(cases)


def _rows(text: str | bytes) -> list[object]:
    try:
        rows = json.loads(text)
    except (ValueError, RecursionError) as error:
        remedy = "write a JSON list of cases"
        raise InputError(
            [Problem(place="the file", value="", says=f"is no JSON ({error})", remedy=remedy)]
        ) from error
    if isinstance(rows, dict):
        rows = rows.get("cases", [rows])
    if not isinstance(rows, list):
        says = "holds no list of cases"
        raise InputError(
            [Problem(place="the file", value="", says=says, remedy="write a JSON list of cases")]
        )
    return rows


class _Row:
    """One case while it is read; everything wrong is noted and replaced by nothing."""

    def __init__(self, row: object, number: int, problems: Problems) -> None:
        self._problems = problems
        self._place = f"case {number}"
        self._row: Mapping[str, object] = row if isinstance(row, dict) else {}
        self._is_object = isinstance(row, dict)
        if not self._is_object:
            self._wrong("", row, "is no object", 'write {"id": …}')
        self._place = self.text("id") or self._place

    def case(self) -> PublishedCase:
        """Return the case."""
        identity = self.text("id")
        if self._is_object and not identity:
            self._wrong("id", None, "is missing", "give every case an id")
        return PublishedCase(
            id=identity,
            source=self.text("source") or f"published case {identity}",
            identifier=self.text("doi_or_pmid"),
            age_years=self._age(),
            sex=self.text("sex"),
            setting=self.text("setting"),
            side=self.text("side"),
            acuity=self.text("acuity"),
            onset_days=self._number("onset_days"),
            mechanism=self.text("mechanism"),
            history=self._history(),
            findings=self._findings(),
            diagnoses=self._texts("diagnoses"),
            primary_diagnosis=self.text("primary_diagnosis"),
            accept=self._texts("accept"),
            red_flag=self._flag("red_flag"),
            urgent=self._flag("urgent"),
            misleading_exam=self._flag("misleading_exam"),
            note=self.text("note"),
            gathered=self.text("gathered"),
        )

    def text(self, key: str) -> str:
        """Return a text; a number is as good as its digits, and null as good as nothing."""
        value = self._row.get(key)
        if value is None or isinstance(value, str):
            return " ".join((value or "").split())
        if isinstance(value, int | float) and not isinstance(value, bool):
            return f"{value:g}"
        self._wrong(key, value, "is no text", "write a text")
        return ""

    def _age(self) -> float | None:
        value = self._row.get("age", self._row.get("age_years"))
        if isinstance(value, str):
            if months := _AGE_IN_MONTHS.match(value.casefold()):
                return round(float(months[1]) / 12, 2)
            found = re.search(r"\d+(?:\.\d+)?", value)
            return float(found[0]) if found else None
        return self._number("age") if "age" in self._row else self._number("age_years")

    def _number(self, key: str) -> float | None:
        value = self._row.get(key)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int | float):
            self._wrong(key, value, "is no number", "write a number or null")
            return None
        return float(value)

    def _flag(self, key: str) -> bool:
        value = self._row.get(key)
        if value is not None and not isinstance(value, bool):
            self._wrong(key, value, "is neither true nor false", "write true or false")
        return value is True

    def _texts(self, key: str) -> tuple[str, ...]:
        value = self._row.get(key)
        if value is None:
            return ()
        if isinstance(value, str):
            return (value,)
        if isinstance(value, list) and all(isinstance(each, str) for each in value):
            return tuple(value)
        self._wrong(key, value, "is no list of texts", "write a list of texts")
        return ()

    def _history(self) -> tuple[tuple[str, CaseAnswer], ...]:
        value = self._row.get("history")
        if value is None:
            return ()
        if not isinstance(value, dict):
            self._wrong("history", value, "is no object", "write item: true, false, a number or null")
            return ()
        given = ((item, answer) for item, answer in value.items() if answer is not None)
        return tuple((item, answer) for item, answer in given if isinstance(answer, bool | int | float | str))

    def _findings(self) -> tuple[CaseFinding, ...]:
        value = self._row.get("findings")
        if value is None:
            return ()
        if not isinstance(value, list):
            self._wrong("findings", value, "is no list", "write a list of findings")
            return ()
        found = []
        for number, each in enumerate(value, start=1):
            if not isinstance(each, dict) or not str(each.get("sign") or "").strip():
                self._wrong(
                    f"findings[{number}]", each, "names no sign", 'write {"sign": …, "side": …, "value": …}'
                )
                continue
            said = {key: _said(each.get(key)) for key in ("sign", "side", "value", "note")}
            found.append(CaseFinding(**said))
        return tuple(found)

    def _wrong(self, key: str, value: object, says: str, remedy: str) -> None:
        place = f"{self._place}, {key}" if key else self._place
        shown = "" if value is None else json.dumps(value, ensure_ascii=False, default=str)[:60]
        self._problems.add(place, shown, says, remedy)


def _said(value: object) -> str:
    """Return a value in words: a truth as positive or negative, null as nothing."""
    if isinstance(value, bool):
        return "positive" if value else "negative"
    if isinstance(value, int | float):
        return f"{value:g}"
    return "" if value is None else " ".join(str(value).split())
