"""What comes in: one or many examinations from files, from streams of one a line, and from standard input."""

from __future__ import annotations

import io
import json
import os
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from difflib import get_close_matches
from itertools import islice
from pathlib import Path
from typing import Annotated, Any, BinaryIO, cast

import typer

from fabella.anatomy import Side
from fabella.cli.clock import today
from fabella.errors import FabellaError, InputError, Problem, Problems, UsageError
from fabella.protocol import load_protocol
from fabella.record import MAX_BYTES, Examination, read_examination, read_many

STANDARD_INPUT = Path("-")
NOTHING = "holds no examination"

Passed = Callable[[int], None]

OneFile = Annotated[str, typer.Argument(help="An examination file; - is standard input.", show_default=False)]
AsJson = Annotated[bool, typer.Option("--json", help="Answer in JSON.")]
JsonAnyway = Annotated[
    bool, typer.Option("--json", help="Changes nothing: what this command writes is JSON in any case.")
]
"""Of a command that has nothing else to answer in, so that every computing command takes ``--json``."""
Lines = Annotated[
    bool, typer.Option("--lines", help="Every file holds one examination a line, whatever its name.")
]
Earlier = Annotated[
    list[str] | None,
    typer.Option(
        "--earlier",
        help="An earlier examination of the patient, to say what has changed since; may be repeated.",
        show_default=False,
    ),
]
OneSide = Annotated[Side | None, typer.Option("--side", help="Only this knee.", show_default=False)]


@dataclass(frozen=True, slots=True)
class Taken:
    """One examination, or why there is none, and where it stood: file and line (None: the whole file)."""

    file: str
    line: int | None
    result: Examination | InputError

    def examination(self) -> Examination:
        """Return the examination, or raise why there is none."""
        if isinstance(self.result, InputError):
            raise self.result
        return self.result

    def problems(self) -> Iterator[Problem]:
        """Yield why there is none, each with where it stood; nothing of an examination."""
        if isinstance(self.result, InputError):
            yield from problems_at(self.result, self.file, self.line)

    @property
    def place(self) -> str:
        """The place in words."""
        return place_of(self.file, self.line)


def paths_of(names: Sequence[str]) -> tuple[Path, ...]:
    """Return the files of these names, - being standard input.

    Raises `UsageError` naming every one that cannot be read.
    """
    paths = tuple(map(Path, names))
    faults = [fault for path in paths if path != STANDARD_INPUT and (fault := _fault(path))]
    if STANDARD_INPUT in paths and sys.stdin is None:
        faults.append("there is no standard input")
    if faults:
        raise UsageError("\n".join(faults))
    return paths


def take_one(name: str) -> Examination:
    """Return the one examination of the file of this name, - being standard input.

    Raises `InputError` listing everything wrong with it, `UsageError` when there are several or the file
    cannot be read, `FabellaError` when there is none.
    """
    taken = tuple(islice(take(paths_of([name])), 2))
    if not taken:
        raise FabellaError(f"{name}: {NOTHING}")
    if len(taken) > 1:
        raise UsageError(f"{name}: holds more than one examination; this command takes one")
    return taken[0].examination()


def take_earlier(names: Sequence[str] | None) -> tuple[Examination, ...]:
    """Return every examination of the files of these names; None names none.

    Raises `InputError` listing everything wrong with any of them, `UsageError` naming every file that cannot
    be read, `FabellaError` when they hold none.
    """
    if not names:
        return ()
    taken = tuple(take(paths_of(names)))
    Problems(problem for each in taken for problem in each.problems()).raise_any()
    if not taken:
        raise FabellaError(f"{names[0]}: {NOTHING}")
    return tuple(each.examination() for each in taken)


def take(paths: Sequence[Path], *, lines: bool = False, passed: Passed = lambda _: None) -> Iterator[Taken]:
    """Yield every examination of every file, holding one at a time.

    Parameters
    ----------
    lines
        Whether every file holds one examination a line; one named ``.jsonl``, and standard input that
        begins with a whole examination on its first line, always do.
    passed
        Told how many bytes were read since it was last told.

    What cannot be read is yielded as its error, and never stops what comes after it.
    """
    for path in paths:
        name = name_of(path)
        try:
            yield from _read(path, name, lines=lines, passed=passed)
        except OSError as error:
            says = f"cannot be read: {error.strerror or error}"
            yield Taken(name, None, InputError.of(place=name, says=says, remedy=""))


def _read(path: Path, name: str, *, lines: bool, passed: Passed) -> Iterator[Taken]:
    protocol, day = load_protocol(), today()
    with _opened(path) as opened:
        first = opened.readline(MAX_BYTES + 1) if path == STANDARD_INPUT else b""
        stream = cast("BinaryIO", io.BufferedReader(_Counted(opened, passed, before=first)))
        if lines or path.suffix == ".jsonl" or _is_whole(first):
            for number, result in read_many(stream, protocol=protocol, today=day):
                yield Taken(name, number, result)
            return
        try:
            examination = read_examination(stream.read(MAX_BYTES + 1), protocol=protocol, today=day)
        except InputError as error:
            yield Taken(name, None, error)
        else:
            yield Taken(name, None, examination)


def problems_at(error: InputError, file: str, line: int | None) -> Iterator[Problem]:
    """Yield the problems of one of several texts with where it stood: ``clinic.jsonl, line 3: patient``."""
    for problem in error.problems:
        if problem.place == file:  # all of it
            yield problem
            continue
        told = problem.place.startswith("line ")  # it has the line, and the column too
        yield replace(problem, place=f"{place_of(file, None if told else line)}: {problem.place}")


def place_of(file: str, line: int | None) -> str:
    """Return a place in words: ``clinic.jsonl, line 3``, or the file alone."""
    return file if line is None else f"{file}, line {line}"


def name_of(path: Path) -> str:
    """Return what messages call a file."""
    return "standard input" if path == STANDARD_INPUT else str(path)


def sides_of(side: Side | None) -> tuple[Side, ...]:
    """Return the knees asked for: one, or both, the right one first."""
    return (Side.RIGHT, Side.LEFT) if side is None else (side,)


class _Counted(io.RawIOBase):
    """A stream that tells how far it has been read; ``before`` stands before what is still to be read."""

    def __init__(self, stream: io.BufferedIOBase, passed: Passed, before: bytes = b"") -> None:
        self._stream, self._passed, self._before = stream, passed, io.BytesIO(before)

    def readable(self) -> bool:
        return True

    def readinto(self, into: Any) -> int:
        data = self._before.read(len(into)) or self._stream.read1(len(into))
        into[: len(data)] = data
        self._passed(len(data))
        return len(data)


@contextmanager
def _opened(path: Path) -> Iterator[io.BufferedIOBase]:
    if path == STANDARD_INPUT:
        yield cast("io.BufferedIOBase", sys.stdin.buffer)
        return
    with path.open("rb") as stream:
        yield stream


def _fault(path: Path) -> str:
    """Return why a file cannot be read, or nothing when it can."""
    try:
        if path.is_dir():
            return f"{path}: is a directory; name the files in it"
        if os.access(path, os.R_OK):
            return ""
        if path.exists():
            return f"{path}: may not be read"
        near = get_close_matches(path.name, [each.name for each in path.parent.iterdir()], n=1)
    except (OSError, ValueError):  # a name too long, with a null character, in a folder that is none
        near = []
    return f"{path}: there is no such file" + (f"; did you mean '{path.parent / near[0]}'?" if near else "")


def _is_whole(line: bytes) -> bool:
    try:
        return isinstance(json.loads(line), dict)
    except (ValueError, RecursionError):
        return False
