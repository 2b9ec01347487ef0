import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.running import HANDBALL, MORNINGS, call, one_line

FABELLA = str(Path(sys.executable).with_name("fabella"))


def shell(line: str) -> subprocess.CompletedProcess[str]:
    """Run a line of shell in which every pipe tells all its exit codes, after what it printed."""
    line = f'{line}; codes="${{PIPESTATUS[*]}}"; echo; echo "$codes"'
    return subprocess.run(["bash", "-c", line], capture_output=True, text=True, check=True)


@pytest.mark.parametrize(
    ("arguments", "reader"),
    [
        (f"{HANDBALL}", "head -1"),
        (f"{HANDBALL} --json", "head -c 10"),
        (f"{HANDBALL} {MORNINGS} --json", "true"),
    ],
)
def test_a_reader_that_goes_away_is_no_disaster(arguments: str, reader: str) -> None:
    """When the next program leaves early, the command leaves quietly, with 1 for what it could not print."""
    done = shell(f"'{FABELLA}' conclude {arguments} | {reader}")
    assert done.stderr == ""
    assert done.stdout.splitlines()[-1] in {"1 0", "0 0"}  # 0 when all of it had fitted into the pipe


def test_a_pipe_from_one_command_to_the_next() -> None:
    """A file comes in through a pipe as it does by name."""
    done = shell(f"cat '{HANDBALL}' | '{FABELLA}' conclude - --json")
    *printed, _, codes = done.stdout.splitlines()
    assert (codes, done.stderr) == ("0 0", "")
    assert printed == call("conclude", HANDBALL, "--json").out.splitlines()


def test_a_full_disk_is_told() -> None:
    """When the output cannot be written the command says so and leaves with 1."""
    if not Path("/dev/full").exists():
        pytest.fail("this system has no /dev/full to test with")
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [FABELLA, "conclude", str(HANDBALL)], stdout=full, stderr=subprocess.PIPE, check=False
        )
    assert done.returncode == 1
    assert b"No space left on device" in done.stderr
    assert b"Traceback" not in done.stderr


def test_a_file_without_permission_is_a_usage_error(tmp_path: Path) -> None:
    """A file that may not be read is named; the superuser may read everything."""
    path = tmp_path / "secret.json"
    path.write_text(one_line(HANDBALL), "utf-8")
    path.chmod(0)
    left = call("conclude", path)
    if os.geteuid() == 0:
        assert left.code == 0
    else:
        assert (left.code, left.err) == (2, f"fabella: {path}: may not be read\n")


def test_names_that_are_no_text_are_told(tmp_path: Path) -> None:
    """A file name that is not UTF-8 is read, and named when wrong, without a failure of encoding."""
    path = os.fsdecode(os.fsencode(tmp_path) + b"/\xff.json")
    Path(path).write_text("{}", "utf-8")
    left = call("conclude", path, HANDBALL, "--json", encoding="ascii")
    assert left.code == 1
    assert "origin: is missing" in left.err
    assert len(left.out.splitlines()) == 1


def test_a_note_in_any_script_can_be_printed_anywhere() -> None:
    """Letters that the terminal does not know never stop the page."""
    words = one_line(HANDBALL, patient={"age_years": 22, "label": "Łódź – 患者 \N{BONE}"})
    left = call("conclude", "-", stdin=words.encode(), encoding="latin-1")
    assert left.code == 0
    assert "22" in left.out


@pytest.mark.parametrize(
    "arguments", [("simulate", "--n", "1"), ("conclude", HANDBALL), ("check", "nowhere")]
)
@pytest.mark.parametrize("closed", [">&-", "2>&-", "<&- >&- 2>&-"])
def test_closed_streams_end_nothing(arguments: tuple[object, ...], closed: str) -> None:
    """Whoever closes a stream does not want what goes there; the command does its work all the same."""
    told = subprocess.run(
        ["bash", "-c", f"'{FABELLA}' {' '.join(map(str, arguments))} {closed}"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert told.returncode == (2 if arguments[0] == "check" else 0), told.stderr


@pytest.mark.parametrize(
    "arguments",
    [("letter", HANDBALL), ("protocol",), ("evidence", "lachman"), ("schema", "--of", "conclusion")],
)
def test_every_answer_in_json_is_json_in_plain_ascii(arguments: tuple[object, ...]) -> None:
    """Where the terminal knows no curved quotation mark, none becomes one that ends a string."""
    json_option = () if arguments[0] == "schema" else ("--json",)
    plain = call(*arguments, *json_option, encoding="ascii")
    assert plain.json == call(*arguments, *json_option).json


def test_problems_in_json_are_json_in_plain_ascii(tmp_path: Path) -> None:
    """The value of a problem keeps its quotation marks."""
    path = tmp_path / "quoted.json"
    path.write_text(one_line(HANDBALL, origin="“a patient”"), "utf-8")
    (file,) = call("check", path, "--json", encoding="ascii").json["files"]
    assert file["wrong"][0]["problems"][0]["value"] == "“a patient”"


def test_no_standard_input_is_told_to_who_checks_it() -> None:
    """A closed standard input is a wrong question, no fault of the program."""
    done = subprocess.run(
        ["bash", "-c", f"'{FABELLA}' check - <&-"], capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stderr) == (2, "fabella: there is no standard input\n")


def test_a_letter_in_json_holds_the_history_as_answers() -> None:
    """Each item with its answer, true, false or a number: nothing of how the program keeps them."""
    told = call("letter", HANDBALL, "--json").json["readings"]["answers"]
    assert told == json.loads(HANDBALL.read_text("utf-8"))["history"]
