import json
import resource
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.cli.running import Left, call


def drawn(*options: object) -> list[Any]:
    """The examinations that the command draws."""
    left = call("simulate", *options)
    assert (left.code, left.err) == (0, "")
    return left.json_lines


def test_ten_valid_examinations_by_default(tmp_path: Path) -> None:
    """Without options ten patients are drawn, each a valid file, with what belongs to every knee."""
    left, path = call("simulate"), tmp_path / "drawn.jsonl"
    path.write_text(left.out, "utf-8")
    assert call("check", path).out == f"{path}: 10 of 10 examinations are valid\n"
    assert {each["origin"] for each in left.json_lines} == {"simulated"}
    signs = {each["sign"] for each in left.json_lines[0]["findings"]}
    assert {"lachman", "effusion_sweep", "joint_line_tenderness_medial"} <= signs
    assert "dial_30" not in signs


def test_circumstances_are_written_down_as_given() -> None:
    """What is given stands in every examination, and nothing that is not."""
    where = ("--setting", "emergency", "--acuity", "acute", "--mechanism", "twist")
    options = (*where, "--age", "25", "--sex", "female")
    for each in drawn("--n", 5, "--signs", "lachman", *options):
        assert each["patient"] == {"age_years": 25, "sex": "female"}
        assert {**each["context"], "complaint": []} == {
            "setting": "emergency",
            "acuity": "acute",
            "mechanism": "twist",
            "complaint": [],
        }
    assert drawn("--n", 1)[0]["patient"] == {}


def test_the_seed_decides() -> None:
    """The same seed draws the same text, another seed another, and more draws do not change the ids."""
    assert call("simulate", "--seed", 3).out == call("simulate", "--seed", 3).out
    assert call("simulate", "--seed", 3).out != call("simulate", "--seed", 4).out
    assert [each["id"] for each in drawn("--seed", 3, "--n", 2)] == ["simulated-3-1", "simulated-3-2"]


def test_json_is_what_it_writes_anyway() -> None:
    """--json, which every computing command has, is taken and changes not a byte."""
    assert call("simulate", "--n", 2, "--json") == call("simulate", "--n", 2)


def test_truth_is_kept_apart(tmp_path: Path) -> None:
    """--out takes the examinations, --truth what is true of each; the examinations do not tell it."""
    out, truth = tmp_path / "drawn.jsonl", tmp_path / "truth.jsonl"
    options = ("--n", 20, "--lesion", "pcl_tear:complete", "--signs", "lachman,pop_heard")
    assert call("simulate", *options, "--out", out, "--truth", truth) == Left(0, "", "")
    examinations, truths = (
        [json.loads(line) for line in path.read_text().splitlines()] for path in (out, truth)
    )
    assert [each["id"] for each in examinations] == [each["id"] for each in truths]
    for examination, true in zip(examinations, truths, strict=True):
        (side,) = examination["context"]["complaint"]
        assert {"id": "pcl_tear", "level": "complete"} in true["knees"][side]["lesions"]
        assert list(true["knees"]) == ["right", "left"]
    assert not any("pcl" in value for value in words(examinations))


def words(tree: Any) -> Iterator[str]:
    """Every key and text in a tree."""
    if isinstance(tree, dict):
        for key, value in tree.items():
            yield key
            yield from words(value)
    elif isinstance(tree, list):
        for each in tree:
            yield from words(each)
    elif isinstance(tree, str):
        yield tree


def test_drawn_patients_can_be_concluded_on() -> None:
    """What one command draws the other concludes from, line by line."""
    lines = call("simulate", "--n", 4, "--signs", "lachman,effusion,giving_way").out.encode()
    answers = call("conclude", "-", "--json", "--top", 1, stdin=lines).json_lines
    assert [each["examination"]["id"] for each in answers] == [f"simulated-1-{i}" for i in (1, 2, 3, 4)]


@pytest.mark.parametrize(
    ("options", "code", "said"),
    [
        (
            ("--lesion", "acl_tea", "--lesion", "pcl_tear:torn"),
            1,
            ("did you mean 'acl_tear'?", "no such level"),
        ),
        (("--lesion", "acl_tear:partial", "--lesion", "acl_tear:complete"), 1, ("cannot be in one knee",)),
        (("--signs", "lachmann,walking_aid"), 1, ("did you mean lachman", "means nothing to the model")),
        (("--signs", " , "), 2, ("names no sign",)),
        (("--n", "0"), 2, ("--n",)),
        (("--age", "130"), 2, ("--age",)),
        (("--age", "nan"), 2, ("--age",)),
        (("--seed", "-1"), 2, ("--seed",)),
        (("--setting", "street"), 2, ("--setting",)),
        (("--out", "/nowhere/drawn.jsonl"), 2, ("cannot write /nowhere/drawn.jsonl",)),
    ],
)
def test_what_cannot_be_drawn_is_refused(options: tuple[str, ...], code: int, said: tuple[str, ...]) -> None:
    """A wrong wish is told with what would be right, and nothing is drawn."""
    left = call("simulate", *options)
    assert (left.code, left.out) == (code, "")
    assert all(each in left.err for each in said)


def test_examinations_and_truth_never_share_a_file(tmp_path: Path) -> None:
    """One name for both, however written, is refused before anything is drawn or written."""
    out = tmp_path / "drawn.jsonl"
    left = call("simulate", "--n", 1, "--out", out, "--truth", tmp_path / "." / "x" / ".." / "drawn.jsonl")
    assert left == Left(2, "", f"fabella: {out}: --out and --truth are the same file; name two\n")
    assert list(tmp_path.iterdir()) == []


def test_a_run_that_breaks_off_leaves_the_file_that_was_there(tmp_path: Path) -> None:
    """When the disk takes no more, the examinations of last time are untouched, and alone."""
    out = tmp_path / "drawn.jsonl"
    assert call("simulate", "--n", 1, "--out", out).code == 0
    before = out.read_bytes()
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (len(before), hard))
    try:
        left = call("simulate", "--n", 3, "--out", out)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert (left.code, left.err) == (2, f"fabella: cannot write {out}: File too large\n")
    assert out.read_bytes() == before
    assert list(tmp_path.iterdir()) == [out]
