import json
from random import Random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from typer.testing import CliRunner

from fabella import cli
from fabella.errors import FabellaError
from fabella.protocol import load_protocol
from tests.cli.running import EXAMPLES, Left, call
from tests.record.mutations import mutated

TREES: list[dict[str, Any]] = [json.loads(path.read_text("utf-8")) for path in EXAMPLES]
COMMANDS = ("conclude", "next")
BAD = ("Traceback", "fault of Fabella")


def harmless(left: Left) -> None:
    """Fail unless a command ended as a command may: done, refused with a reason, or wrongly asked."""
    assert left.code in {0, 1, 2}
    assert (left.code == 0) == (left.err == "")
    assert not any(bad in left.err + left.out for bad in BAD)
    if left.code == 0:
        json.loads(left.out.splitlines()[0] if left.out.startswith('{"file"') else left.out)


@given(st.binary(max_size=300))
@settings(max_examples=60)
def test_no_bytes_bring_a_command_down(data: bytes) -> None:
    """Whatever bytes come in, each command answers in its own words."""
    for name in COMMANDS:
        harmless(call(name, "-", "--json", stdin=data))
        harmless(call(name, "-", "--json", stdin=b'{"format": "fabella.examination/1", ' + data))


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda each: st.lists(each, max_size=4) | st.dictionaries(st.text(max_size=8), each, max_size=4),
    max_leaves=12,
)


@given(JSON)
@settings(max_examples=60)
def test_no_json_brings_a_command_down(tree: Any) -> None:
    """Whatever JSON comes in, each command answers in its own words."""
    for name in COMMANDS:
        harmless(call(name, "-", "--json", stdin=json.dumps(tree).encode()))


@pytest.mark.parametrize("seed", range(120))
def test_no_slip_brings_a_command_down(seed: int) -> None:
    """An examination with one to three slips is either refused or concluded from, whole, by each command."""
    dice = Random(seed)
    tree = mutated(dice.choice(TREES), load_protocol(), dice)
    stdin = json.dumps(tree, indent=dice.choice([None, 1])).encode()
    options = dice.choice([("--json",), ("--json", "--side", "left"), ("--json", "--top", "1")])
    harmless(call(dice.choice(COMMANDS), "-", *options, stdin=stdin))


@pytest.mark.parametrize("seed", range(30))
def test_no_slip_spoils_a_page(seed: int) -> None:
    """An examination with slips that is still valid gives a page without ids, holes or half sentences."""
    dice = Random(1000 + seed)
    tree = mutated(dice.choice(TREES), load_protocol(), dice)
    left = call(dice.choice(COMMANDS), "-", stdin=json.dumps(tree, indent=1).encode())
    assert left.code in {0, 1}
    assert not any(bad in left.err for bad in BAD)
    if left.code == 0:
        assert "None" not in left.out
        assert "What next" in left.out


WORDS = st.text(max_size=12) | st.sampled_from(["--json", "--top", "--side", "-", "3", "left"])


@given(st.lists(WORDS, max_size=4))
@settings(max_examples=60)
def test_no_arguments_bring_a_command_down(arguments: list[str]) -> None:
    """Whatever is typed after a command, it is wrongly asked, refused or helped; also without our own net."""
    for name in COMMANDS:
        left = call(name, *arguments, stdin=b"{}")
        assert left.code in {0, 1, 2}
        assert not any(bad in left.err for bad in BAD)
        bare = CliRunner().invoke(cli.app, [name, *arguments], input=b"{}")
        assert isinstance(bare.exception, FabellaError | SystemExit | None), bare.exception
