import json
import resource
import subprocess
import sys
from pathlib import Path

import pytest

from fabella import cli
from fabella.protocol import load_protocol
from fabella.record import examination_schema

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "examples" / "twist_at_handball.json"


def run(capsys: pytest.CaptureFixture[str], *arguments: str | Path) -> tuple[object, str, str]:
    """Run the command and return its exit code, what it printed and what it complained of."""
    with pytest.raises(SystemExit) as left:
        cli.main([str(each) for each in arguments])
    out, err = capsys.readouterr()
    return left.value.code or 0, out, err


@pytest.fixture
def wrong(tmp_path: Path) -> Path:
    """A file with two problems."""
    path = tmp_path / "wrong.json"
    path.write_text('{"format": "fabella.examination/1", "id": "a", "origin": "inventd", "colour": 1}')
    return path


def test_a_valid_file_gets_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    """A valid file is summed up in one line, and the command is done."""
    code, out, err = run(capsys, "check", EXAMPLE)
    assert (code, err) == (0, "")
    assert out == f"{EXAMPLE}: valid; 54 findings (right and left knee), 12 answers\n"


def test_every_problem_of_every_file_is_printed(capsys: pytest.CaptureFixture[str], wrong: Path) -> None:
    """Each problem is one line with the file before it; one wrong file among others makes the exit code 1."""
    code, out, err = run(capsys, "check", EXAMPLE, wrong)
    assert (code, err) == (1, "")
    assert [line.split(": ")[:2] for line in out.splitlines()] == [
        [str(EXAMPLE), "valid; 54 findings (right and left knee), 12 answers"],
        [str(wrong), "colour"],
        [str(wrong), "origin"],
    ]


def test_the_answer_in_json_holds_every_problem(capsys: pytest.CaptureFixture[str], wrong: Path) -> None:
    """With --json each file has its count and its problems with place, value, fault and remedy."""
    code, out, _ = run(capsys, "check", "--json", EXAMPLE, wrong)
    assert code == 1
    good, bad = json.loads(out)["files"]
    assert good == {"file": str(EXAMPLE), "examinations": 1, "wrong": []}
    assert (bad["examinations"], bad["wrong"][0]["line"]) == (1, 1)
    assert bad["wrong"][0]["problems"][1] == {
        "place": "origin",
        "value": "inventd",
        "says": "is not allowed here",
        "remedy": "did you mean 'invented'?",
    }


def test_a_stream_is_checked_line_by_line(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, wrong: Path
) -> None:
    """A .jsonl file, or any file with --lines, is judged by line and summed up at its end."""
    good = json.dumps(json.loads(EXAMPLE.read_text()))
    stream = tmp_path / "many.jsonl"
    stream.write_text(f"{good}\n{wrong.read_text()}\n{good}\n")
    code, out, _ = run(capsys, "check", stream)
    assert code == 1
    assert out.splitlines()[0].startswith(f"{stream}, line 2: colour")
    assert out.splitlines()[-1] == f"{stream}: 2 of 3 examinations are valid"
    assert run(capsys, "check", "--lines", stream.rename(tmp_path / "many.txt"))[0] == 1


def test_standard_input_can_be_checked() -> None:
    """The installed command takes a single dash for standard input."""
    command = [str(Path(sys.executable).with_name("fabella")), "check", "-"]
    done = subprocess.run(command, input=EXAMPLE.read_bytes(), capture_output=True, check=False)
    assert (done.returncode, done.stderr) == (0, b"")
    assert done.stdout.startswith(b"standard input: valid; 54 findings")


def test_a_file_that_does_not_exist_is_a_usage_error(capsys: pytest.CaptureFixture[str]) -> None:
    """A wrong file name leaves with 2, as does no name at all."""
    code, out, err = run(capsys, "check", "no_such_file.json")
    assert (code, out) == (2, "")
    assert "no_such_file.json" in err
    assert run(capsys, "check")[0] == 2


def test_the_schema_is_printed_or_written(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """The command gives the schema of the protocol, on standard output or in a file."""
    expected = examination_schema(load_protocol())
    code, out, _ = run(capsys, "schema")
    assert (code, json.loads(out)) == (0, expected)
    path = tmp_path / "schema.json"
    assert run(capsys, "schema", "--out", path) == (0, "", "")
    assert json.loads(path.read_text("utf-8")) == expected


def test_a_place_that_cannot_be_written_is_a_usage_error(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """A folder that does not exist is told plainly."""
    code, out, err = run(capsys, "schema", "--out", tmp_path / "nowhere" / "schema.json")
    assert (code, out) == (2, "")
    assert "cannot write" in err


def test_a_file_that_holds_nothing_is_wrong_however_it_is_named(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """A stream of no examination was to hold some, as an empty file was."""
    one, many = tmp_path / "none.json", tmp_path / "none.jsonl"
    one.touch()
    many.write_text("\n\n", "utf-8")
    code, out, _ = run(capsys, "check", one, many)
    assert code == 1
    assert out == f"{one}: the text: is empty; nothing was read\n{many}: the text: holds no examination\n"
    code, out, _ = run(capsys, "check", many, "--json")
    assert (code, json.loads(out)["files"][0]["examinations"]) == (1, 0)


def test_more_files_are_checked_than_may_be_open_at_a_time(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """A folder of examinations is checked in one run: each file is closed before the next is opened."""
    names = [tmp_path / f"{i}.json" for i in range(80)]
    for name in names:
        name.touch()
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    resource.setrlimit(resource.RLIMIT_NOFILE, (len(names), hard))
    try:
        code, out, err = run(capsys, "check", *names)
    finally:
        resource.setrlimit(resource.RLIMIT_NOFILE, (soft, hard))
    assert (code, len(out.splitlines()), err) == (1, len(names), "")


def test_a_line_that_is_no_json_is_told_once(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Its number stands there with the column, not twice."""
    stream = tmp_path / "many.jsonl"
    stream.write_text("{}\n{\n", "utf-8")
    _, out, _ = run(capsys, "check", stream)
    assert f"{stream}: line 2, column 2: the text breaks off" in out


def test_a_wrong_name_is_answered_with_the_nearest(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """As by every command that reads examinations; a folder is told apart."""
    near = EXAMPLE.with_name(f"{EXAMPLE.stem}s.json")
    code, _, err = run(capsys, "check", near, EXAMPLE.parent)
    assert code == 2
    assert f"did you mean '{EXAMPLE}'?" in err
    assert f"{EXAMPLE.parent}: is a directory" in err
