"""``fabella audit``: the invented example, and what is wrong told at once."""

import json
from pathlib import Path

import pytest

from fabella.cli import whole_file
from tests.cli.running import ROOT, call

EXAMPLE = ROOT / "examples" / "audit"
EXAMINATIONS, CONFIRMED = str(EXAMPLE / "examinations.jsonl"), str(EXAMPLE / "confirmed.jsonl")


@pytest.fixture
def few(tmp_path: Path) -> tuple[str, str]:
    """The first dozen examinations of the example, and all that was seen."""
    path = tmp_path / "few.jsonl"
    path.write_text("".join(Path(EXAMINATIONS).read_text("utf-8").splitlines(keepends=True)[:12]), "utf-8")
    return str(path), CONFIRMED


def test_the_examiner_who_misses_the_pivot_shift_is_told_so_and_only_that() -> None:
    """The example drops three of four pivot shifts and nothing else: that sign alone is lower."""
    answer = call("audit", EXAMINATIONS, "--confirmed", CONFIRMED, "--json").json
    assert answer["format"] == "fabella.hands/1"
    lower = [each["used"]["sign"] for each in answer["signs"] if each["sensitivity"]["against"] == "lower"]
    assert lower == ["pivot_shift"]
    assert answer["told"]["brier"]["brier"] < answer["told"]["before"]
    assert {each["method"] for each in answer["surprises"]} <= {"mri", "arthroscopy"}
    assert answer["unmatched"] == []
    assert answer["foreknown"] == []


def test_the_page_says_what_is_compared_and_what_was_not_used(few: tuple[str, str]) -> None:
    """Counts, best estimate and published stand side by side; looks after other examinations are named."""
    left = call("audit", few[0], "--confirmed", few[1])
    assert (left.code, left.err) == (0, "")
    assert left.out.startswith("12 examinations; ")
    said = " ".join(left.out.split())
    assert "is not used: no such examination was given" in said
    assert "too few to compare" in said
    assert "local protocols" in said


def test_everything_wrong_with_the_looks_is_told_with_its_line(few: tuple[str, str], tmp_path: Path) -> None:
    """Two wrong lines give all their problems, and nothing is reckoned."""
    wrong = tmp_path / "wrong.jsonl"
    wrong.write_text('{"format": "fabella.confirmation/1", "side": "rigt"}\n\nnot json\n', "utf-8")
    left = call("audit", few[0], "--confirmed", str(wrong))
    assert (left.code, left.out) == (1, "")
    assert "line 1: side: 'rigt' is not allowed here; did you mean 'right'?" in left.err
    assert "line 1: found: is missing" in left.err
    assert "line 3" in left.err


def test_an_examination_given_twice_is_refused(few: tuple[str, str]) -> None:
    """Counted twice, a knee would make the numbers surer than they are."""
    left = call("audit", few[0], few[0], "--confirmed", few[1])
    assert (left.code, left.out) == (1, "")
    assert left.err.count("is the id of more than one examination") == 24


@pytest.mark.parametrize("content", ["", "\n \n"])
def test_a_file_without_a_look_is_refused(few: tuple[str, str], tmp_path: Path, content: str) -> None:
    """Nothing to hold the examinations against is said, not shown as an empty page."""
    empty = tmp_path / "empty.jsonl"
    empty.write_text(content, "utf-8")
    left = call("audit", few[0], "--confirmed", str(empty))
    assert (left.code, left.out) == (1, "")
    assert "holds no confirmation" in left.err


def test_a_missing_file_is_a_usage_error(few: tuple[str, str]) -> None:
    """Asked wrongly, the exit code is 2."""
    left = call("audit", few[0], "--confirmed", "nowhere.jsonl")
    assert left.code == 2
    assert "nowhere.jsonl: there is no such file" in left.err


def test_the_answer_is_json_through_and_through(few: tuple[str, str]) -> None:
    """What the library of the standard reads back is what was printed; no number without end."""
    left = call("audit", few[0], "--confirmed", few[1], "--json")
    json.loads(left.out, parse_constant=pytest.fail)


def test_confirmations_may_come_from_standard_input_and_have_an_end(
    few: tuple[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A dash is standard input, as for examinations; a file without end is refused."""
    examinations, confirmed = few
    piped = call("audit", examinations, "--confirmed", "-", "--json", stdin=Path(confirmed).read_bytes())
    assert piped == call("audit", examinations, "--confirmed", confirmed, "--json")
    monkeypatch.setattr(whole_file, "MOST_BYTES", 1_000)
    left = call("audit", examinations, "--confirmed", "/dev/zero")
    assert (left.code, left.err[:50]) == (2, "fabella: /dev/zero: has more than 1,000 bytes, or no"[:50])
