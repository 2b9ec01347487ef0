import json
from collections.abc import Iterator
from datetime import date
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from fabella.anatomy import Side, load_lesions
from fabella.cli import conclude as command
from fabella.errors import FabellaError
from fabella.infer import Model
from fabella.protocol import load_protocol
from fabella.record import read_examination
from fabella.workup import ANY_LEVEL, Workup, run_workup
from tests.cli.running import EXAMPLES, HANDBALL, MORNINGS, YEARS, Left, call, one_line


def workup_of(path: Path) -> Workup:
    """The workup of a file, computed without the command."""
    return run_workup(read_examination(path.read_bytes(), protocol=load_protocol(), today=date(2100, 1, 1)))


def validator(of: str) -> Draft202012Validator:
    """What checks an answer against the schema that the command publishes."""
    return Draft202012Validator(call("schema", "--of", of).json)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_the_answer_is_the_workup(path: Path) -> None:
    """The numbers in the JSON are those of the library, to the six digits printed."""
    answer, workup = call("conclude", path, "--json").json, workup_of(path)
    assert (answer["edition"], answer["version"]) == (workup.edition, workup.version)
    assert answer["examination"]["id"] == workup.examination.id
    assert workup.conclusion is not None
    for side in Side:
        knee = workup.conclusion.knee(side)
        told = answer["knees"][side]
        assert told["nothing_listed"] == pytest.approx(knee.nothing_listed, rel=1e-5)
        assert [(each["id"], each["level"]) for each in told["lesions"]] == [
            (each.lesion, each.level) for each in knee.lesions
        ]
        for said, entry in zip(told["lesions"], knee.lesions, strict=True):
            expected = (entry.prior, entry.low, entry.probability, entry.high)
            assert [said[key] for key in ("prior", "low", "probability", "high")] == pytest.approx(
                expected, rel=1e-5
            )
            assert [each["sign"] for each in said["for"]] == [each.sign for each in entry.reasons_for]
            assert [each["sign"] for each in said["against"]] == [each.sign for each in entry.reasons_against]
    assert [(each["rule"], each["side"], each["verdict"]) for each in answer["cannot_wait"]] == [
        (each.rule, each.side, each.verdict) for each in workup.alarms
    ]
    assert workup.advice is not None
    steps = (*workup.advice.first, *workup.advice.bedside, *workup.advice.images)
    assert [each["id"] for each in answer["next_steps"]] == [each.id for each in steps]


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_lesions_are_sorted_with_one_entry_for_any_level(path: Path) -> None:
    """The most probable comes first; each lesion has one entry for all its levels, which add up to it."""
    for knee in call("conclude", path, "--json").json["knees"].values():
        lesions = knee["lesions"]
        assert all(one["probability"] >= other["probability"] for one, other in pairwise(lesions))
        whole = {each["id"]: each["probability"] for each in lesions if each["level"] == ANY_LEVEL}
        assert list(whole) == list(dict.fromkeys(each["id"] for each in lesions))
        assert set(whole) == set(load_lesions())
        for lesion, probability in whole.items():
            levels = [
                each["probability"] for each in lesions if each["id"] == lesion and each["level"] != ANY_LEVEL
            ]
            assert not levels or sum(levels) == pytest.approx(probability, abs=1e-4)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
@pytest.mark.parametrize(("name", "of"), [("conclude", "conclusion"), ("next", "next_steps")])
def test_answers_obey_the_published_schema(path: Path, name: str, of: str) -> None:
    """What the command prints is what its schema describes, for whole answers and for cut ones."""
    check = validator(of)
    for options in ((), ("--side", "left"), ("--top", "2")):
        answer = call(name, path, "--json", *options).json
        assert [error.message for error in check.iter_errors(answer)] == []


def changes(tree: Any) -> Iterator[tuple[dict[str, Any], str, Any]]:
    """Every key of every kind of object in an answer, once, with a value that it cannot have."""
    if isinstance(tree, list):
        for each in tree[:1]:
            yield from changes(each)
    if isinstance(tree, dict):
        for key, value in list(tree.items()):
            yield from changes(value)
            yield tree, key, {"no": "such"}


def test_the_schema_refuses_what_is_not_an_answer() -> None:
    """No key can hold something else, be missing or be added without the schema noticing."""
    check = validator("conclusion")
    answer = call("conclude", YEARS, "--json", "--top", "1").json
    assert check.is_valid(answer)
    tried = 0
    for place, key, wrong in changes(answer):
        value = place[key]
        place[key] = wrong
        assert not check.is_valid(answer), key
        place[key] = value
        if place is not answer["knees"]:
            del place[key]
            assert not check.is_valid(answer), key
            place[key] = value
        tried += 1
    assert tried > 60
    assert check.is_valid(answer)
    assert not check.is_valid({**answer, "colour": "red"})


def test_one_side_still_tells_what_cannot_wait_on_the_other() -> None:
    """With --side only that knee is concluded on, but no alarm is lost."""
    whole, left = (
        call("conclude", HANDBALL, "--json").json,
        call("conclude", HANDBALL, "--json", "--side", "left"),
    )
    assert list(left.json["knees"]) == ["left"]
    assert left.json["cannot_wait"] == whole["cannot_wait"]
    assert {each["side"] for each in whole["cannot_wait"]} == {"right"}
    assert {each["side"] for each in left.json["next_steps"]} <= {"left"}


def test_top_keeps_the_likeliest_with_all_their_levels() -> None:
    """With --top 2 each knee has its two likeliest lesions and no other."""
    for knee in call("conclude", HANDBALL, "--json", "--top", "2").json["knees"].values():
        assert len({each["id"] for each in knee["lesions"]}) == 2
    right = call("conclude", HANDBALL, "--json", "--top", "2").json["knees"]["right"]["lesions"]
    assert {each["level"] for each in right if each["id"] == "acl_tear"} == {ANY_LEVEL, "partial", "complete"}


def test_a_stream_of_lines_is_concluded_line_by_line(tmp_path: Path) -> None:
    """A good line gives one tree with its place, the same as alone; a wrong one is told and stops nothing."""
    stream = tmp_path / "clinic.jsonl"
    lines = [
        one_line(HANDBALL),
        '{"format": "fabella.exam',
        "",
        one_line(MORNINGS, origin="inventd"),
        one_line(YEARS),
    ]
    stream.write_text("\n".join(lines) + "\n", "utf-8")
    left = call("conclude", stream, "--json")
    assert left.code == 1
    assert [(each["line"], each["file"]) for each in left.json_lines] == [(1, str(stream)), (5, str(stream))]
    for answer, alone in zip(left.json_lines, (HANDBALL, YEARS), strict=True):
        assert {key: answer[key] for key in answer if key not in {"file", "line"}} == call(
            "conclude", alone, "--json"
        ).json
        assert validator("conclusion").is_valid(answer)
    assert [line.split(": ")[:3] for line in left.err.splitlines()] == [
        ["fabella", str(stream), "line 2, column 12"],
        ["fabella", f"{stream}, line 4", "origin"],
    ]


def test_many_files_give_one_line_each() -> None:
    """Several files are concluded in one run: a tree a line in JSON, a row a knee complained of in text."""
    answers = call("conclude", *EXAMPLES, "--json")
    assert (answers.code, answers.err) == (0, "")
    assert [(each["file"], each["line"]) for each in answers.json_lines] == [
        (str(path), None) for path in EXAMPLES
    ]
    table = call("conclude", HANDBALL, MORNINGS)
    assert (table.code, table.err) == (0, "")
    assert [line.split()[:2] for line in table.out.splitlines()] == [
        ["examination", "knee"],
        ["twist-at-handball", "right"],
        ["stiff-mornings", "right"],
        ["left", "osteoarthritis"],
    ]
    assert all(len(line) <= 80 for line in table.out.splitlines())


def test_standard_input_may_hold_one_file_or_many_lines() -> None:
    """A dash takes a whole file or one examination a line, told apart by the first line."""
    alone = call("conclude", HANDBALL, "--json").json
    assert call("conclude", "-", "--json", stdin=HANDBALL.read_bytes()).json == alone
    lines = f"{one_line(HANDBALL)}\n{one_line(YEARS)}\n".encode()
    answers = call("conclude", "-", "--json", stdin=lines).json_lines
    assert [each["examination"]["id"] for each in answers] == ["twist-at-handball", "two-years-of-pain"]
    assert {each["file"] for each in answers} == {"standard input"}
    page = call("conclude", "-", stdin=one_line(HANDBALL).encode())
    assert page.out == call("conclude", HANDBALL).out


def test_any_file_may_hold_lines(tmp_path: Path) -> None:
    """With --lines a file of any name is read line by line."""
    path = tmp_path / "clinic.txt"
    path.write_text(f"{one_line(HANDBALL)}\n{one_line(YEARS)}\n")
    assert call("conclude", path, "--json").code == 1
    assert len(call("conclude", "--lines", path, "--json").json_lines) == 2


def test_a_wrong_file_is_told_in_full() -> None:
    """Everything wrong with a single file is printed, nothing is concluded, and the exit code is 1."""
    left = call("conclude", "-", stdin=one_line(HANDBALL, origin="inventd", colour=1).encode())
    assert (left.code, left.out) == (1, "")
    assert "colour" in left.err
    assert "did you mean 'invented'?" in left.err


@pytest.mark.parametrize(
    "stdin", [b"", b"\n", b"\xff\xfe", b"[" * 100_000, b"null", b"{}" * 2, b"1" * 10_000]
)
@pytest.mark.parametrize("name", ["conclude", "next"])
def test_no_input_is_no_examination(name: str, stdin: bytes) -> None:
    """An empty, broken or endlessly nested input is refused in plain words."""
    left = call(name, "-", stdin=stdin)
    assert (left.code, left.out) == (1, "")
    assert left.err.startswith("fabella:")
    assert "unexpected" not in left.err


def test_what_cannot_be_opened_is_a_usage_error(tmp_path: Path) -> None:
    """All missing files and folders are named at once, with the nearest name, and the exit code is 2."""
    slip = HANDBALL.with_name("twist_at_handbal.json")
    left = call("conclude", slip, tmp_path, tmp_path / "nowhere" / "a.json", "\0", "x" * 5000)
    assert (left.code, left.out) == (2, "")
    assert f"did you mean '{HANDBALL}'?" in left.err
    assert f"{tmp_path}: is a directory" in left.err
    assert len(left.err.splitlines()) == 6
    assert call("conclude").code == 2
    assert call("conclude", HANDBALL, "--top", "0").code == 2
    assert call("conclude", HANDBALL, "--side", "middle").code == 2


def test_an_empty_stream_holds_no_examination(tmp_path: Path) -> None:
    """A file without a line is told, not passed over."""
    path = tmp_path / "empty.jsonl"
    path.write_text("\n\n")
    left = call("conclude", path)
    assert (left.code, left.out) == (1, "")
    assert left.err == f"fabella: {path}: holds no examination\n"


def test_a_file_that_vanishes_stops_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file that can no longer be read when its turn comes is told, and the others are concluded."""
    gone = tmp_path / "gone.json"
    monkeypatch.setattr("fabella.cli.intake._fault", lambda _: "")
    left = call("conclude", HANDBALL, gone, YEARS, "--json")
    assert left.code == 1
    assert len(left.json_lines) == 2
    assert left.err == f"fabella: {gone}: cannot be read: No such file or directory\n"
    assert call("conclude", gone) == Left(1, "", left.err)


def broken_model() -> Model:
    """A model that cannot be loaded."""
    raise FabellaError("the tables are torn")


def test_a_failure_hides_no_alarm(monkeypatch: pytest.MonkeyPatch) -> None:
    """When nothing can be concluded, what cannot wait is still told, and the failure; the exit code is 1."""
    alarms = call("conclude", HANDBALL, "--json").json["cannot_wait"]
    monkeypatch.setattr(command, "run_workup", lambda each: run_workup(each, model=broken_model))
    left = call("conclude", HANDBALL, "--json")
    assert left.code == 1
    assert (left.json["cannot_wait"], left.json["knees"], left.json["next_steps"]) == (alarms, {}, [])
    assert left.json["failures"] == ["the conclusion could not be computed: the tables are torn"]
    assert validator("conclusion").is_valid(left.json)
    page = call("conclude", HANDBALL)
    assert page.code == 1
    assert "Probable blood in the joint" in page.out
    assert "The conclusion could not be computed: the tables are torn." in page.out
    table = call("conclude", HANDBALL, HANDBALL)
    assert table.code == 1
    assert "could not be concluded" in table.out


def test_the_answer_is_the_same_each_time() -> None:
    """Concluding twice gives the same text to the last digit."""
    assert call("conclude", HANDBALL, "--json").out == call("conclude", HANDBALL, "--json").out


def test_json_is_plain_where_the_stream_is(tmp_path: Path) -> None:
    """On a stream that knows only ASCII, JSON is written with escapes and says the same."""
    path = tmp_path / "a.json"
    path.write_text(one_line(HANDBALL), "utf-8")
    assert (
        json.loads(call("conclude", path, "--json", encoding="ascii").out)
        == call("conclude", path, "--json").json
    )
