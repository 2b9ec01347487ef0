import json
from dataclasses import fields, replace
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner

from fabella.cli.letter import letter
from fabella.errors import InputError, UsageError
from fabella.record import Origin, write_examination
from fabella.report import LetterContext, SummaryContext
from tests.report.made_up import twisted_knee

APP = typer.Typer()
APP.command()(letter)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """A file of the invented patient with a twisted knee."""
    path = tmp_path / "patient.json"
    path.write_text(write_examination(twisted_knee().examination))
    return path


def run(*arguments: str | Path) -> str:
    """What the command prints; it must end well."""
    done = CliRunner().invoke(APP, [str(each) for each in arguments], catch_exceptions=False)
    assert 0 == done.exit_code, done.output
    return done.stdout


def test_a_letter_is_printed(file: Path) -> None:
    """Without further wishes the letter comes as text, with addressee and date."""
    told = run(file, "--to", "Dr Example", "--date", "2026-02-03")
    assert told.startswith("3 February 2026\nTo: Dr Example\n")
    assert "CONCLUSION" in told
    assert "anterior cruciate ligament tear" in " ".join(told.split())


@pytest.mark.parametrize("wish", [(), ("--patient",)])
def test_a_letterhead_stands_above_it(file: Path, tmp_path: Path, wish: tuple[str, ...]) -> None:
    """The sender's lines come first, without what is empty."""
    head = tmp_path / "head.txt"
    head.write_text("Knee Clinic of Nowhere\n\n  1 Made-up Lane \n", encoding="utf-8")
    told = run(file, "--letterhead", head, "--date", "2026-02-03", *wish)
    assert told.startswith("Knee Clinic of Nowhere\n1 Made-up Lane\n\n3 February 2026\n")


@pytest.mark.parametrize(
    ("content", "complaint"),
    [
        (b"\xff\xfe", "no plain text in UTF-8"),
        (b"a\n" * 7, "up to 6 lines"),
        (b"a" * 81, "up to 80 characters"),
        (b"a\x00b", "no letterhead"),
        (b" " * 5000, "no letterhead"),
    ],
)
def test_what_is_no_letterhead_is_refused(file: Path, tmp_path: Path, content: bytes, complaint: str) -> None:
    """Too much, too long, or no text: it is said, and nothing is written."""
    head = tmp_path / "head.txt"
    head.write_bytes(content)
    with pytest.raises(UsageError, match=complaint):
        run(file, "--letterhead", head)
    with pytest.raises(UsageError, match="cannot be read"):
        run(file, "--letterhead", tmp_path / "none.txt")


def test_a_page_for_the_patient_is_printed(file: Path) -> None:
    """With --patient the plain page comes instead."""
    assert "YOUR KNEES" in run(file, "--patient", "--text")


@pytest.mark.parametrize(
    ("name", "start"), [("a.pdf", b"%PDF"), ("a.txt", b"3 February 2026"), ("a.svg", b"<svg")]
)
def test_a_file_is_written(file: Path, tmp_path: Path, name: str, start: bytes) -> None:
    """The ending of the file decides what is written, and nothing is printed but its name, as a remark."""
    assert "" == run(file, "--out", tmp_path / name, "--date", "2026-02-03")
    assert (tmp_path / name).read_bytes().startswith(start)


@pytest.mark.parametrize(("wish", "context"), [((), LetterContext), (("--patient",), SummaryContext)])
def test_everything_it_says_comes_as_json(file: Path, wish: tuple[str, ...], context: type) -> None:
    """With --json the whole context is printed, field by field."""
    assert [each.name for each in fields(context)] == list(json.loads(run(file, *wish, "--json")))


@pytest.mark.parametrize(
    ("wishes", "complaint"),
    [
        (("--date", "3 Feb"), "write YYYY-MM-DD"),
        (("--out", "letter.doc"), "must end in"),
        (("--patient", "--to", "Dr Example"), "no addressee"),
        (("--out", "no-such-folder/letter.pdf"), "no-such-folder"),
    ],
)
def test_a_wrong_wish_is_refused_by_name(file: Path, wishes: tuple[str, ...], complaint: str) -> None:
    """What the command cannot do is a usage error that says what would be right."""
    with pytest.raises(UsageError, match=complaint):
        run(file, *wishes)


def test_a_simulated_patient_needs_the_mark_of_practice(tmp_path: Path) -> None:
    """The command refuses a clinical letter about a simulated patient and writes one marked as practice."""
    path = tmp_path / "simulated.json"
    path.write_text(write_examination(replace(twisted_knee().examination, origin=Origin.SIMULATED)))
    with pytest.raises(InputError, match="--practice"):
        run(path)
    assert "PRACTICE LETTER: NOT ABOUT A REAL PATIENT" in run(path, "--practice")
