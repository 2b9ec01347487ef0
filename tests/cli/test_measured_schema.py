import copy
import json
from collections.abc import Iterator
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from fabella.measure import VIEWS
from tests.cli.running import HANDBALL, ROOT, call
from tests.cli.test_gait import GAIT, MARKERS
from tests.cli.test_measure import KNEE, POINTS

ANSWERS = {
    "measurement": (
        ("measure", KNEE, "--points", POINTS),
        ("measure", KNEE, "--points", POINTS, "--beside", HANDBALL, "--mirrored"),
    ),
    "views": (("measure",), *(("measure", "--view", view.id) for view in VIEWS)),
    "gait": (
        ("gait", GAIT / "taps.csv"),
        ("gait", GAIT / "taps.csv", "--distance", "12"),
        ("gait", GAIT / "film.csv", "--fps", "30"),
        ("gait", GAIT / "knees.csv"),
        ("gait", GAIT / "markers.c3d", *MARKERS),
    ),
}


def validator(of: str) -> Draft202012Validator:
    """What checks against the schema that the command publishes, itself a right one."""
    schema = call("schema", "--of", of).json
    Draft202012Validator.check_schema(schema)
    return Draft202012Validator(schema)


def changed(tree: Any, root: Any) -> Iterator[tuple[str, Any]]:
    """The whole tree with one key of one object put wrong: something else in it, and one more beside it."""
    if isinstance(tree, list):
        for each in tree[:1]:
            yield from changed(each, root)
    if isinstance(tree, dict):
        for key, value in list(tree.items()):
            yield from changed(value, root)
            tree[key] = {"no": {"such": "thing"}}
            yield key, copy.deepcopy(root)
            tree[key] = value
        tree["colour"] = "red"
        yield "colour", copy.deepcopy(root)
        del tree["colour"]


@pytest.mark.parametrize("of", ANSWERS)
def test_answers_obey_the_published_schema(of: str) -> None:
    """What the commands print is what their schemas describe, and bears the format they name."""
    check, named = validator(of), call("schema", "--of", of).json["title"]
    for arguments in ANSWERS[of]:
        answer = call(*arguments, "--json").json
        assert [error.message for error in check.iter_errors(answer)] == []
        assert answer["format"] == named


@pytest.mark.parametrize("of", ANSWERS)
def test_the_schema_refuses_what_is_not_an_answer(of: str) -> None:
    """No key can hold something else or be added anywhere, and none at the top can be missing."""
    check = validator(of)
    answer = call(*ANSWERS[of][-1], "--json").json
    wrong = list(changed(answer, answer))
    assert len(wrong) > 15
    assert [key for key, tree in wrong if check.is_valid(tree)] == []
    for key in answer:
        assert not check.is_valid({name: value for name, value in answer.items() if name != key}), key


@pytest.mark.parametrize(
    ("change", "right"),
    [
        ({}, True),
        ({"view": "bent_kne"}, False),
        ({"side": "both"}, False),
        ({"mirrored": 1}, False),
        ({"points": []}, False),
        ({"points": {"trochanter": [1]}}, False),
        ({"points": {"trochanter": ["1", 2]}}, False),
        ({"points": {"trochanter": [1e300, 2]}}, False),
        ({"format": "fabella.points/2"}, False),
        ({"colour": "red"}, False),
    ],
)
def test_the_schema_of_points_agrees_with_the_command(
    change: dict[str, Any], right: bool, tmp_path: Any
) -> None:
    """What the schema refuses the command refuses, and what it allows is measured."""
    told = {**json.loads(POINTS.read_text("utf-8")), **change}
    file = tmp_path / "points.json"
    file.write_text(json.dumps(told), "utf-8")
    assert validator("points").is_valid(told) is right
    assert (call("measure", KNEE, "--points", file).code == 0) is right


def test_every_key_of_an_answer_is_documented() -> None:
    """The page of commands names every key at the top of both answers."""
    page = (ROOT / "docs" / "command_line.md").read_text("utf-8")
    for of in ("measurement", "gait"):
        for key in call("schema", "--of", of).json["properties"]:
            assert key == "format" or f"`{key}`" in page, key
