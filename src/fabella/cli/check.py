"""The command that says whether examination files are valid, and if not, everything that is wrong."""

import json
from collections.abc import Iterator
from dataclasses import asdict, dataclass, field
from typing import Annotated, BinaryIO

import typer

from fabella.cli.clock import today
from fabella.cli.intake import AsJson, Lines
from fabella.errors import InputError
from fabella.protocol import load_protocol
from fabella.record import MAX_BYTES, Examination, read_examination, read_many


@dataclass(slots=True)
class _Checked:
    """What became of one file: how many examinations, the last valid one, and the wrong ones by line."""

    file: str
    examinations: int = 0
    last: Examination | None = None
    wrong: dict[int, InputError] = field(default_factory=dict)


def check(
    files: Annotated[
        list[typer.FileBinaryRead],
        typer.Argument(help="Examination files; - is standard input, .jsonl holds one examination a line."),
    ],
    lines: Lines = False,
    as_json: AsJson = False,
) -> None:
    """Check examination files and list every problem; exit with 1 if there is any."""
    checked = [_check(stream, lines=lines or stream.name.endswith(".jsonl")) for stream in files]
    if as_json:
        print(json.dumps({"files": [_as_json(each) for each in checked]}, ensure_ascii=False, indent=2))
    else:
        print("\n".join(line for each in checked for line in _as_text(each)))
    if any(each.wrong for each in checked):
        raise typer.Exit(1)


def _check(stream: BinaryIO, *, lines: bool) -> _Checked:
    checked = _Checked("standard input" if stream.name == "<stdin>" else stream.name)
    for number, result in _read(stream, lines=lines):
        checked.examinations += 1
        if isinstance(result, InputError):
            checked.wrong[number] = result
        else:
            checked.last = result
    return checked


def _read(stream: BinaryIO, *, lines: bool) -> Iterator[tuple[int, Examination | InputError]]:
    protocol, day = load_protocol(), today()
    if lines:
        yield from read_many(stream, protocol=protocol, today=day)
        return
    try:
        yield 1, read_examination(stream.read(MAX_BYTES + 1), protocol=protocol, today=day)
    except InputError as error:
        yield 1, error


def _as_text(checked: _Checked) -> Iterator[str]:
    for number, error in checked.wrong.items():
        line = f", line {number}" if checked.examinations > 1 else ""
        yield from (f"{checked.file}{line}: {problem}" for problem in error.problems)
    if checked.examinations == 1 and checked.last:
        yield f"{checked.file}: valid; {_contents(checked.last)}"
    elif checked.examinations != 1:
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
