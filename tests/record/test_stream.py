import io
from collections.abc import Iterator

from fabella.errors import InputError
from fabella.protocol import load_protocol
from fabella.record import MAX_BYTES, Examination, Origin, read_many, write_examination
from tests.strategies import TODAY

PROTOCOL = load_protocol()
SOUND = write_examination(Examination(id="a", origin=Origin.INVENTED), one_line=True).encode()


def results(stream: io.BufferedIOBase) -> Iterator[tuple[int, Examination | InputError]]:
    """Read a stream on the day of the tests."""
    return read_many(stream, protocol=PROTOCOL, today=TODAY)  # type: ignore[arg-type]


class Endless(io.BytesIO):
    """A stream whose lines never end, which counts how many were taken."""

    taken = 0

    def readline(self, size: int | None = -1, /) -> bytes:  # noqa: ARG002
        """Return one more line."""
        self.taken += 1
        return SOUND


def test_a_wrong_line_does_not_stop_the_others() -> None:
    """Every line is judged by itself and keeps its number; blank lines are passed over but counted."""
    stream = io.BytesIO(SOUND + b"\n{\n" + SOUND + b"\xff\n" + SOUND.rstrip())
    found = list(results(stream))
    assert [number for number, _ in found] == [1, 3, 4, 5, 6]
    assert [isinstance(result, Examination) for _, result in found] == [True, False, True, False, True]


def test_a_problem_of_a_line_names_the_line() -> None:
    """A line that is no JSON is refused with its own line number, not with line 1."""
    (_, first), (_, second) = results(io.BytesIO(b"{\n\xff\n"))
    assert isinstance(first, InputError)
    assert first.problems[0].place == "line 1, column 2"
    assert isinstance(second, InputError)
    assert second.problems[0].place == "line 2, byte 1"


def test_lines_are_read_one_at_a_time() -> None:
    """Asking for three examinations of an endless stream takes three lines from it."""
    stream = Endless()
    reading = results(stream)
    assert [next(reading)[0] for _ in range(3)] == [1, 2, 3]
    assert stream.taken == 3


def test_an_overlong_line_is_refused_and_passed_over() -> None:
    """A line beyond the limit is one problem, however long it is, and the next line is read."""
    for length in (MAX_BYTES + 1, MAX_BYTES + 2, 2 * MAX_BYTES + 4, 2 * MAX_BYTES + 9):
        (number, long), (after, sound) = results(io.BytesIO(b"x" * length + b"\n" + SOUND))
        assert (number, after) == (1, 2)
        assert isinstance(long, InputError)
        assert "larger than" in long.problems[0].says
        assert isinstance(sound, Examination)


def test_an_empty_stream_holds_nothing() -> None:
    """No line, no examination and no problem."""
    assert list(results(io.BytesIO(b""))) == []
