"""Runs a command as a user would, within this process, and tells what came of it."""

from __future__ import annotations

import io
import json
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from unittest.mock import patch

from fabella import cli

ROOT = Path(__file__).parents[2]
EXAMPLES = tuple(sorted((ROOT / "examples").glob("*.json")))
HANDBALL, MORNINGS, YEARS = (
    ROOT / "examples" / f"{name}.json"
    for name in ("twist_at_handball", "stiff_mornings", "two_years_of_pain")
)
VALIDATED = ("fabella validate", "fabella validate --collected")
"""The examples that work up every published patient: run once, beside the tests of what comes of it."""


@dataclass(frozen=True, slots=True)
class Left:
    """How a command left: its exit code, what it printed, what it complained of."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """What it printed, read as JSON."""
        return json.loads(self.out)

    @property
    def json_lines(self) -> list[Any]:
        """Each line it printed, read as JSON."""
        return [json.loads(line) for line in self.out.splitlines()]


def call(*arguments: object, stdin: bytes = b"", encoding: str = "utf-8") -> Left:
    """Run the command with these arguments and this standard input."""
    out, err = (io.TextIOWrapper(io.BytesIO(), encoding=encoding, write_through=True) for _ in range(2))
    code: object = None
    with (
        redirect_stdout(out),
        redirect_stderr(err),
        patch("sys.stdin", io.TextIOWrapper(io.BytesIO(stdin))),
    ):
        try:
            cli.main([str(each) for each in arguments])
        except SystemExit as left:
            code = left.code
    said = [stream.buffer.getvalue().decode(encoding) for stream in (out, err)]
    return Left(int(str(code or 0)), *said)


def one_line(path: Path, **changes: object) -> str:
    """Return an examination file as one line, with other values for some of its keys."""
    return json.dumps({**json.loads(path.read_text("utf-8")), **changes})
