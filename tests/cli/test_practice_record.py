"""The record that a student keeps of practice in the terminal."""

import json
import stat
from pathlib import Path

import platformdirs
import pytest

from fabella.teach import Topic
from fabella.teach.past import read_past
from tests.cli.running import call

LAPSE = b"expose\nlachman right left\nnote lachman left 2+\nbelieve acl tear 60\nend\n"


def played(record: Path, seed: int = 7, *more: object) -> str:
    """Play a run with a record, and return what was printed."""
    left = call("practice", "--seed", seed, "--record", record, *more, stdin=LAPSE)
    assert (left.code, left.err) == (0, "")
    return left.out


def test_runs_add_up_in_a_file_of_ones_own(tmp_path: Path) -> None:
    """Each debriefed run adds a line that only its owner reads, and the debrief says what comes again."""
    record = tmp_path / "mine" / "practice.jsonl"
    first = played(record)
    assert "1 debriefed run, in" in first
    assert "tomorrow" in first
    played(record, 8)
    runs = read_past(record.read_text("utf-8"))
    assert [each.curriculum for each in runs] == ["as_they_come"] * 2
    assert stat.S_IMODE(record.stat().st_mode) == 0o600
    so_far = call("practice", "--record", record, "--so-far")
    assert so_far.code == 0
    for told in ("2 debriefed runs", "What comes again", "Too little to tell yet", "Lachman test", "Habits"):
        assert told in so_far.out
    assert len(read_past(record.read_text("utf-8"))) == 2, "looking adds nothing"


def test_what_came_up_before_weighs_in_the_lesson(tmp_path: Path) -> None:
    """One thing to practise next comes from the record: of what costs marks, what was the lesson often.

    What can harm a patient goes before it, however often it came up.
    """
    record = tmp_path / "practice.jsonl"
    played(record)
    (run,) = read_past(record.read_text("utf-8"))
    assert run.lesson.topic is Topic.CONSENT
    kind = b"wash\nconsent\nwhere\n" + LAPSE

    def next_time(stdin: bytes) -> str:
        again = call("practice", "--seed", 7, "--json", "--record", record, stdin=stdin)
        return str(again.json["lesson"]["topic"])

    assert next_time(kind) == "left_out"
    line = record.read_text("utf-8").splitlines(keepends=True)[0]
    often = line.replace('"topic":"consent"', '"topic":"misread"') * 9
    record.write_text(often, "utf-8")
    assert next_time(kind) == "misread"
    record.write_text(often, "utf-8")
    assert next_time(LAPSE) == "consent"


def test_a_patient_is_called_in_for_what_is_due(tmp_path: Path) -> None:
    """What the record says is due changes who comes, and is said; without --due the seed alone does."""
    record = tmp_path / "practice.jsonl"
    played(record)
    record.write_text(record.read_text("utf-8").replace('"begun":"20', '"begun":"19'), "utf-8")
    asked = [
        call("practice", "--seed", 7, "--record", record, *due, stdin=b"").out.splitlines()
        for due in ([], ["--due"])
    ]
    assert asked[0][0].startswith("Patient 7.")
    assert asked[1][0].startswith("Due today: ")
    assert asked[1][1].startswith("Patient ")


def test_nothing_due_is_said(tmp_path: Path) -> None:
    """Asked for what is due when nothing is, the terminal says so, and when something will be."""
    record = tmp_path / "practice.jsonl"
    first = call("practice", "--seed", 7, "--record", record, "--due", stdin=b"").out
    assert first.startswith("Nothing is due: nothing was missed so far.")
    played(record)
    then = call("practice", "--seed", 7, "--record", record, "--due", stdin=b"").out
    assert then.startswith("Nothing is due today; what comes next is due tomorrow.")


def test_no_record_is_kept_unasked_of_what_nobody_types(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A run from a file keeps no record; asked for, it is the one of the data folder."""
    monkeypatch.setattr(platformdirs, "user_data_path", lambda *_, **__: tmp_path / "data")
    assert "Your record" not in call("practice", "--seed", 7, stdin=LAPSE).out
    assert not (tmp_path / "data").exists()
    assert "Nothing yet" in call("practice", "--so-far").out
    (tmp_path / "data").mkdir()
    played(tmp_path / "data" / "practice.jsonl")
    assert "1 debriefed run" in call("practice", "--so-far").out


def test_a_record_that_is_broken_says_where(tmp_path: Path) -> None:
    """A line that is no run is named before the run begins, and nothing is written over it."""
    record = tmp_path / "practice.jsonl"
    record.write_text("what is this\n", "utf-8")
    left = call("practice", "--seed", 7, "--record", record, stdin=LAPSE)
    assert left.code == 1
    assert "line 1" in left.err
    assert record.read_text("utf-8") == "what is this\n"
    for other in ("--so-far", "--due"):
        assert call("practice", "--no-record", other).code == 2


def test_a_line_that_was_cut_short_stays_by_itself(tmp_path: Path) -> None:
    """Where the end of the file has no line end, the next run still gets a line of its own."""
    record = tmp_path / "practice.jsonl"
    played(record)
    record.write_text(record.read_text("utf-8").rstrip("\n"), "utf-8")
    played(record)
    assert len(read_past(record.read_text("utf-8"))) == 2


@pytest.mark.parametrize("seconds", ["1" + "0" * 400, "NaN", "1e400"])
def test_a_number_without_end_in_a_record_is_named(tmp_path: Path, seconds: str) -> None:
    """The line is told, as for any other that is broken."""
    path = tmp_path / "mine.jsonl"
    played(path)
    tree = json.loads(path.read_text())
    tree["facts"]["seconds"] = "SECONDS"
    path.write_text(json.dumps(tree).replace('"SECONDS"', seconds))
    left = call("practice", "--so-far", "--record", path)
    assert (left.code, "line 1" in left.err) == (1, True)


@pytest.mark.parametrize("begun", ["0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00"])
def test_a_run_of_another_age_in_a_record_is_named(tmp_path: Path, begun: str) -> None:
    """A day from which no other can be counted is told with its line."""
    path = tmp_path / "mine.jsonl"
    played(path)
    path.write_text(json.dumps(json.loads(path.read_text()) | {"begun": begun}))
    for asked in ("--so-far", "--due"):
        left = call("practice", asked, "--record", path, stdin=b"end\n")
        assert (left.code, "line 1" in left.err) == (1, True)


def test_what_cannot_be_said_in_a_record_is_named(tmp_path: Path) -> None:
    """A habit or lesson that the program does not know ends nothing without a line."""
    path = tmp_path / "mine.jsonl"
    played(path)
    tree = json.loads(path.read_text())
    habit = {"habit": "nothing", "kept": True, "share": None}
    strange: tuple[dict[str, object], ...] = (
        {"lesson": {"topic": "consent", "about": "nothing"}},
        {"facts": tree["facts"] | {"habits": [habit]}},
    )
    for each in strange:
        path.write_text(json.dumps(tree | each))
        left = call("practice", "--so-far", "--record", path)
        assert (left.code, "line 1" in left.err) == (1, True)
