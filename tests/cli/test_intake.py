import io
import sys
from itertools import islice
from pathlib import Path
from unittest.mock import patch

import pytest

from fabella.cli import whole_file
from fabella.cli.intake import STANDARD_INPUT, paths_of, take, take_one
from fabella.errors import FabellaError, InputError, UsageError
from fabella.record import Examination
from tests.cli.running import HANDBALL, MORNINGS, ROOT, call, one_line

EXAM = ROOT / "examples" / "exam"


class Endless(io.RawIOBase):
    """A stream that repeats a line for ever, and counts what was taken from it."""

    def __init__(self, line: bytes) -> None:
        self.line, self.taken, self.kept = line, 0, b""

    def readable(self) -> bool:
        """It can be read."""
        return True

    def readinto(self, into: bytearray) -> int:  # type: ignore[override]
        """Fill a part of the buffer."""
        self.kept = self.kept or self.line
        part, self.kept = self.kept[: len(into)], self.kept[len(into) :]
        into[: len(part)] = part
        self.taken += len(part)
        return len(part)


class Input:
    """Standard input with bytes behind it."""

    def __init__(self, raw: io.RawIOBase) -> None:
        self.buffer = io.BufferedReader(raw)


def test_a_stream_without_end_is_taken_as_it_comes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Examinations are given out while more are still to come, and little is read ahead."""
    line = f"{one_line(HANDBALL)}\n".encode()
    endless = Endless(line)
    monkeypatch.setattr(sys, "stdin", Input(endless))
    passed: list[int] = []
    taken = list(islice(take([STANDARD_INPUT], passed=passed.append), 5))
    assert [each.line for each in taken] == [1, 2, 3, 4, 5]
    assert all(isinstance(each.result, Examination) for each in taken)
    assert endless.taken < 5 * len(line) + 4 * io.DEFAULT_BUFFER_SIZE
    assert 5 * len(line) <= sum(passed) <= endless.taken


def test_all_that_is_read_is_counted(tmp_path: Path) -> None:
    """The bytes told as read add up to the size of the files."""
    lines = tmp_path / "a.jsonl"
    lines.write_text(f"{one_line(HANDBALL)}\n\n{one_line(MORNINGS)}", "utf-8")
    passed: list[int] = []
    assert len(list(take([lines, HANDBALL], passed=passed.append))) == 3
    assert sum(passed) == lines.stat().st_size + HANDBALL.stat().st_size


def test_one_is_one(tmp_path: Path) -> None:
    """Where one examination is needed, none and two are refused, each in its own way."""
    assert take_one(str(HANDBALL)).id == "twist-at-handball"
    path = tmp_path / "a.jsonl"
    path.write_text(f"{one_line(HANDBALL)}\n{one_line(MORNINGS)}", "utf-8")
    with pytest.raises(UsageError, match="more than one"):
        take_one(str(path))
    path.write_text("", "utf-8")
    with pytest.raises(FabellaError, match="holds no examination"):
        take_one(str(path))
    path.write_text("{}", "utf-8")
    with pytest.raises(InputError, match="origin"):
        take_one(str(path))


def test_a_single_line_is_a_stream_of_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """Standard input with one line is one examination at its first line; a file over many lines has none."""
    for text, line in ((one_line(HANDBALL), 1), (HANDBALL.read_text("utf-8"), None)):
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(text.encode())))
        (taken,) = take([STANDARD_INPUT])
        assert (taken.file, taken.line) == ("standard input", line)
        assert isinstance(taken.result, Examination)


def test_without_standard_input_a_dash_is_a_usage_error() -> None:
    """A program started without standard input says so."""
    with patch("sys.stdin", None), pytest.raises(UsageError, match="there is no standard input"):
        paths_of(["-"])


DEVICE = "/dev/zero"  # never ends
ASKED = (
    ("exam", "plan", DEVICE),
    ("exam", "analyse", EXAM / "marks.csv", "--stations", EXAM / "blueprint.json", "--rules", DEVICE),
    ("exam", "analyse", EXAM / "marks.csv", "--stations", EXAM / "blueprint.json", "--candidates", DEVICE),
    ("practice", "--so-far", "--record", DEVICE),
)


@pytest.mark.skipif(not Path(DEVICE).exists(), reason=f"this system has no {DEVICE}")
@pytest.mark.parametrize("asked", ASKED, ids=("plan", "rules", "candidates", "record"))
def test_a_device_without_end_is_not_read_for_ever(
    asked: tuple[object, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file that is read whole may not be larger than anything of its kind; the message names it."""
    monkeypatch.setattr(whole_file, "MOST_BYTES", 1_000_000)
    left = call(*asked)
    assert (left.code, left.out) == (2, "")
    assert f"{DEVICE}: has more than 1,000,000 bytes, or no end; name a smaller file" in left.err
