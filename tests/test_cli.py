import subprocess
import sys

import pytest

from fabella import __version__, cli
from fabella.errors import FabellaError, InputError, Problem, UsageError


def leave(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    """Run the command and return its exit code, what it printed and what it complained of."""
    with pytest.raises(SystemExit) as left:
        cli.main(arguments)
    out, err = capsys.readouterr()
    assert isinstance(left.value.code, int)
    return left.value.code, out, err


def raising(monkeypatch: pytest.MonkeyPatch, error: Exception) -> None:
    """Make every command raise this error."""

    def app(**_: object) -> None:
        raise error

    monkeypatch.setattr(cli, "app", app)


def test_version(capsys: pytest.CaptureFixture[str]) -> None:
    """The command tells its version."""
    assert leave(capsys, "--version") == (0, f"fabella {__version__}\n", "")


def test_help(capsys: pytest.CaptureFixture[str]) -> None:
    """Help goes to standard output and is no failure."""
    code, out, err = leave(capsys, "--help")
    assert (code, err) == (0, "")
    assert "both knees" in out


def test_an_unknown_option_is_a_usage_error(capsys: pytest.CaptureFixture[str]) -> None:
    """A wrongly written command leaves with 2 and prints nothing on standard output."""
    code, out, err = leave(capsys, "--no-such-option")
    assert (code, out) == (2, "")
    assert "--no-such-option" in err


@pytest.mark.parametrize(("error", "expected"), [(FabellaError("no"), 1), (UsageError("no"), 2)])
def test_a_refusal_is_one_line_on_standard_error(
    error: Exception, expected: int, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A refusal shows its message and no traceback."""
    raising(monkeypatch, error)
    assert leave(capsys) == (expected, "", "fabella: no\n")


def test_bad_input_shows_every_problem(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Every problem of an input reaches the user, one a line."""
    problems = [Problem(place=side, value="", says="is missing", remedy="") for side in ("left", "right")]
    raising(monkeypatch, InputError(problems))
    assert leave(capsys) == (1, "", "fabella:\nleft: is missing\nright: is missing\n")


def test_a_fault_of_ours_is_told_without_a_traceback(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """An unexpected error is owned up to in plain words, with how to report it."""
    monkeypatch.delenv("FABELLA_DEBUG", raising=False)
    raising(monkeypatch, KeyError("lachman"))
    code, out, err = leave(capsys)
    assert (code, out) == (1, "")
    assert "unexpected KeyError: 'lachman'" in err
    assert "Please report it" in err
    assert "Traceback" not in err


def test_debugging_shows_the_whole_error(monkeypatch: pytest.MonkeyPatch) -> None:
    """FABELLA_DEBUG=1 lets the error through untouched."""
    monkeypatch.setenv("FABELLA_DEBUG", "1")
    raising(monkeypatch, KeyError("lachman"))
    with pytest.raises(KeyError, match="lachman"):
        cli.main([])


def test_arguments_come_from_the_command_line_by_default(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The installed command reads what the user typed."""
    monkeypatch.setattr(sys, "argv", ["fabella", "--version"])
    with pytest.raises(SystemExit):
        cli.main()
    assert capsys.readouterr().out == f"fabella {__version__}\n"


def test_python_runs_the_package_as_the_command() -> None:
    """``python -m fabella`` is the command, and calls itself by the same name."""
    ran = subprocess.run(
        [sys.executable, "-m", "fabella", "--version"], capture_output=True, text=True, check=False
    )
    assert (ran.returncode, ran.stdout, ran.stderr) == (0, f"fabella {__version__}\n", "")
