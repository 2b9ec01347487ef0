"""``fabella read``: what a dictated text says, what must be asked, and what was not understood."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from fabella.cli.clock import today
from fabella.cli.dictation_page import page_of
from fabella.cli.drawing import open_console, show
from fabella.cli.intake import AsJson
from fabella.cli.streams import print_json
from fabella.dictation import Understood, understand
from fabella.errors import FabellaError, UsageError
from fabella.protocol import load_protocol
from fabella.record import Examination, Origin, check_examination, write_examination
from fabella.report.dictated import dictation_tree, open_words

MAX_BYTES = 200_000
"""More than an hour of speech; longer texts are refused."""


def read(
    dictated: Annotated[
        str,
        typer.Argument(
            metavar="[TEXT|FILE|-]",
            help="The dictated text itself, a file that holds it, or - for standard input.",
            show_default=False,
        ),
    ] = "-",
    *,
    examination: Annotated[
        bool, typer.Option("--examination", help="Write an examination file of what was understood.")
    ] = False,
    identity: Annotated[str, typer.Option("--id", help="Id of that examination.")] = "dictated",
    origin: Annotated[Origin, typer.Option("--origin", help="Where that examination comes from.")] = (
        Origin.INVENTED
    ),
    as_json: AsJson = False,
) -> None:
    """Read dictated findings; exit with 1 if anything must be asked or was not understood.

    Prints the findings of each knee in the order of the examination, and the text with what is open marked.
    Nothing is recorded: with --examination the file goes to standard output, what is open to standard error.
    """
    if examination and as_json:
        raise UsageError("--examination writes a file of its own format and does not go with --json")
    understood = understand(_text(dictated), protocol=load_protocol())
    if examination:
        _write(understood, identity, origin)
    elif as_json:
        print_json(dictation_tree(understood))
    else:
        show(open_console(), page_of(understood))
    if not understood.is_complete:
        raise typer.Exit(1)


def _text(dictated: str) -> str:
    """Return the text of the argument, of the file that it names, or of standard input."""
    if dictated == "-":
        if sys.stdin is None:
            raise UsageError("there is no standard input")
        return _decoded(sys.stdin.buffer.read(MAX_BYTES + 1), "standard input")
    path = Path(dictated)
    one_word = not any(character.isspace() for character in dictated)
    if one_word and path.is_dir():
        raise UsageError(f"{dictated}: is a directory; name a file in it")
    if one_word and path.exists():
        with path.open("rb") as file:
            return _decoded(file.read(MAX_BYTES + 1), dictated)
    if one_word and path.suffix:
        raise UsageError(f"{dictated}: there is no such file")
    return dictated


def _decoded(content: bytes, place: str) -> str:
    if len(content) > MAX_BYTES:
        raise FabellaError(f"{place}: is longer than {MAX_BYTES // 1000} kB")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise FabellaError(f"{place}: is not UTF-8 at byte {error.start + 1}") from None


def _write(understood: Understood, identity: str, origin: Origin) -> None:
    """Print what was understood as an examination file, and what is open on standard error."""
    found = Examination(
        id=identity,
        origin=origin,
        patient=understood.patient,
        context=understood.context,
        history=understood.history,
        imaging=understood.imaging,
        findings=understood.findings,
    )
    check_examination(found, protocol=load_protocol(), today=today())
    print(write_examination(found), end="")
    for line in open_words(understood):
        print(f"fabella: open: {line}", file=sys.stderr)
