import json
import xml.etree.ElementTree as ET
from datetime import date
from pathlib import Path

import pytest

from fabella.cli.course_view import ASCII, BLOCKS, spark
from fabella.protocol import load_protocol
from fabella.record import read_examination, write_examination
from tests.follow.notation import read, visit
from tests.test_cli import leave

FOLDER = Path(__file__).parents[2] / "examples" / "follow"
NEW_KNEE = sorted(map(str, FOLDER.glob("new_knee_*.json")))
TORN = str(FOLDER / "torn_ligament.jsonl")


def test_the_examples_are_invented_and_written_as_the_writer_writes() -> None:
    """Every examination of the examples can be read and is in the one form that the writer gives it."""
    texts = [(Path(path).read_text("utf-8"), False) for path in NEW_KNEE]
    texts += [(line + "\n", True) for line in Path(TORN).read_text("utf-8").splitlines()]
    assert len(texts) == 8
    for text, one_line in texts:
        examination = read_examination(text, protocol=load_protocol(), today=date(2025, 6, 30))
        assert write_examination(examination, one_line=one_line) == text
        assert examination.origin == "invented"


def test_a_course_is_told_in_a_table_and_in_words(capsys: pytest.CaptureFixture[str]) -> None:
    """The page has a row with a small line for each series, the words, and the caution once."""
    code, out, err = leave(capsys, "follow", *NEW_KNEE)
    assert (code, err) == (0, "")
    assert "4 visits from 15 January 2024 to 3 February 2025." in out
    assert "17 → 22 → 38 points" in out
    assert "▇▁▄█" in out
    assert "Beside published recovery" in out
    assert out.count("licensed practice") == 1
    assert "of twenty readings of a knee that has not changed about one" in " ".join(out.split())


def test_a_course_without_a_change_does_not_speak_of_chance(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """That unchanged knees are at times told as changed is said beside changes, and nowhere else."""
    examination = json.loads(Path(NEW_KNEE[0]).read_text("utf-8"))
    again = tmp_path / "again.json"
    again.write_text(json.dumps({**examination, "id": "again", "examined_on": "2024-03-01"}), "utf-8")
    code, out, err = leave(capsys, "follow", NEW_KNEE[0], str(again))
    assert (code, err) == (0, "")
    assert "of twenty readings" not in " ".join(out.split())


def test_files_in_any_order_are_put_in_time_and_it_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    """The answer does not depend on the order of the files; a changed order is told on standard error."""
    _, forwards, silent = leave(capsys, "follow", *NEW_KNEE)
    code, backwards, err = leave(capsys, "follow", *reversed(NEW_KNEE))
    assert (code, backwards, silent) == (0, forwards, "")
    assert "put in the order of their days: new-knee-1 (2024-01-15)" in err


def test_json_holds_every_series_with_its_errors(capsys: pytest.CaptureFixture[str]) -> None:
    """One tree, in which each change names its verdict, its reasons and the row it was held against."""
    code, out, _ = leave(capsys, "follow", TORN, "--json")
    tree = json.loads(out)
    assert (code, tree["format"], len(tree["visits"])) == (0, "fabella.course/1", 4)
    flexion = next(
        each for each in tree["measures"] if (each["sign"], each["side"]) == ("passive_flexion", "right")
    )
    whole = flexion["from_first"][-1]
    assert (whole["verdict"], whole["difference"]) == ("true_change_better", 59)
    assert (whole["error"]["detectable"], whole["error"]["source"]) == (10, "Hancock 2018")
    assert {"grades", "lesions", "totals", "standings", "edition"} <= tree.keys()


def test_a_chart_of_every_series_is_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """--svg makes the folder and fills it with sound drawings, named by side and subject."""
    code, _, _ = leave(capsys, "follow", TORN, "--svg", str(tmp_path / "new"))
    names = {path.name for path in (tmp_path / "new").iterdir()}
    assert code == 0
    assert {
        "right_passive_flexion.svg",
        "left_lachman.svg",
        "right_lysholm.svg",
        "right_acl_tear.svg",
    } <= names
    for path in (tmp_path / "new").iterdir():
        ET.parse(path)  # noqa: S314  our own drawing


def test_a_folder_that_cannot_be_made_is_a_usage_error(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A file in the way of the folder is told in one line."""
    (tmp_path / "taken").write_text("")
    code, _, err = leave(capsys, "follow", TORN, "--svg", str(tmp_path / "taken"))
    assert code == 2
    assert "taken" in err


def test_two_patients_are_refused(capsys: pytest.CaptureFixture[str]) -> None:
    """Visits of different labels are no course, and each is named."""
    code, out, err = leave(capsys, "follow", TORN, NEW_KNEE[0])
    assert (code, out) == (1, "")
    assert "'Invented Person T' is another label than 'Invented Person N'" in err


def test_a_missing_day_and_a_wrong_file_are_told_together(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Everything wrong with any file is listed at once, with its file."""
    undated, wrong = tmp_path / "undated.json", tmp_path / "wrong.json"
    text = write_examination(visit(0, read("passive_flexion", 90)))
    undated.write_text(text.replace('  "examined_on": "2025-01-06",\n', ""), encoding="utf-8")
    wrong.write_text(text.replace('"deg"', '"degrees"'), encoding="utf-8")
    code, out, err = leave(capsys, "follow", str(undated), str(wrong))
    assert (code, out) == (1, "")
    assert f"{undated}: examined_on: is missing" in err
    assert f"{wrong}: findings[0].unit" in err


def test_one_visit_can_be_followed_too(capsys: pytest.CaptureFixture[str]) -> None:
    """A single visit after an operation tells where the patient stands."""
    code, out, _ = leave(capsys, "follow", NEW_KNEE[2])
    assert code == 0
    assert "One visit, on 1 April 2024." in out
    assert "usual is 110°" in out


def test_small_lines_rise_and_fall_with_their_values() -> None:
    """One character a value, lowest to highest; without any span all stand in the middle."""
    assert spark([1, 2, 3]) == "▁▅█"
    assert spark([3, 1], ramp=ASCII) == "#_"
    assert spark([5, 5]) == BLOCKS[4] * 2
    assert spark([0, 1], low=0, high=2) == "▁▅"
