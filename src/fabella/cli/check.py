"""``fabella check``: whether examination files are valid, and if not, everything that is wrong."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Annotated

import typer

from fabella.cli.intake import NOTHING, AsJson, Lines, name_of, paths_of, problems_at, take
from fabella.cli.streams import print_json
from fabella.errors import InputError
from fabella.record import Examination


@dataclass(slots=True)
class _Checked:
    """What became of one file: how many examinations, the last valid one, and the wrong ones by line."""

    file: str
    examinations: int = 0
    last: Examination | None = None
    wrong: dict[int, InputError] = field(default_factory=dict)


def check(
    files: Annotated[
        list[str],
        typer.Argument(
            help="Examination files; - is standard input, .jsonl holds one examination a line.",
            show_default=False,
        ),
    ],
    lines: Lines = False,
    as_json: AsJson = False,
) -> None:
    """Check examination files and list every problem; exit with 1 if there is any."""
    checked = [_check(path, lines=lines) for path in paths_of(files)]
    if as_json:
        print_json({"files": [_as_json(each) for each in checked]})
    else:
        print("\n".join(line for each in checked for line in _as_text(each)))
    if any(each.wrong for each in checked):
        raise typer.Exit(1)


def _check(path: Path, *, lines: bool) -> _Checked:
    checked = _Checked(name_of(path))
    for taken in take([path], lines=lines):
        checked.examinations += 1
        if isinstance(taken.result, InputError):
            checked.wrong[taken.line or 1] = taken.result
        else:
            checked.last = taken.result
    if not checked.examinations:
        checked.wrong[1] = InputError.of(place="the text", says=NOTHING, remedy="")
    return checked


def _as_text(checked: _Checked) -> Iterator[str]:
    for number, error in checked.wrong.items():
        line = number if checked.examinations > 1 else None
        yield from map(str, problems_at(error, checked.file, line))
    if checked.examinations == 1 and checked.last:
        yield f"{checked.file}: valid; {_contents(checked.last)}"
    elif checked.examinations > 1:
        valid = checked.examinations - len(checked.wrong)
        yield f"{checked.file}: {valid} of {checked.examinations} examinations are valid"


def _contents(examination: Examination) -> str:
    knees = " and ".join(examination.sides) or "no"
    return f"{len(examination.findings)} findings ({knees} knee), {len(examination.history)} answers"


def _as_json(checked: _Checked) -> dict[str, object]:
    wrong = [
        {"line": number, "problems": [asdict(problem) for problem in error.problems]}
        for number, error in checked.wrong.items()
    ]
    return {"file": checked.file, "examinations": checked.examinations, "wrong": wrong}
