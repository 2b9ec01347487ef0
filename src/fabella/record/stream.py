"""Many examinations, one a line, without holding more than one of them."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import BinaryIO

from fabella.errors import InputError
from fabella.protocol import Protocol
from fabella.record.examination import Examination
from fabella.record.jsontext import MAX_BYTES
from fabella.record.reader import read_examination


def read_many(
    stream: BinaryIO, *, protocol: Protocol, today: date
) -> Iterator[tuple[int, Examination | InputError]]:
    """Yield every line's number, from 1, with its examination or with what is wrong with it.

    A wrong line never stops the ones after it; blank lines are passed over.
    At most one line of bearable length is held at a time.
    """
    for number, line in _lines(stream):
        if not line.strip():
            continue
        try:
            yield number, read_examination(line.rstrip(b"\r\n"), protocol=protocol, today=today, line=number)
        except InputError as error:
            yield number, error


def _lines(stream: BinaryIO) -> Iterator[tuple[int, bytes]]:
    """Yield numbered lines, each cut where it is certain to be refused as too large."""
    number = 0
    while line := stream.readline(MAX_BYTES + 2):
        number += 1
        yield number, line
        while len(line) == MAX_BYTES + 2 and not line.endswith(b"\n"):
            line = stream.readline(MAX_BYTES + 2)
