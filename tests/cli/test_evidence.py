"""The command that shows what a sign rests on: published accuracy, norms, errors of measuring, the model."""

import pytest

from fabella.protocol import load_protocol
from tests.cli.running import call


def test_every_sign_of_the_protocol_has_an_answer() -> None:
    """No sign is refused, and each number told of any has a kind: published, derived or judgement."""
    for sign in load_protocol().signs:
        left = call("evidence", sign.id, "--json")
        assert (left.code, left.err) == (0, ""), sign.id
        tree = left.json
        rests = [each["rests"] for part in ("norms", "errors", "grading") for each in tree[part]]
        rests += [tree["model"]["rests"]] if tree["model"] else []
        assert all(each["kind"] in {"published", "derived", "judgement"} for each in rests)
        assert all(each["sources"] or each["words"] for each in rests)


def test_the_error_of_a_measurement_is_told_with_its_source() -> None:
    """Flexion by five tools: 14, 14, 10, 12 and 6 degrees (Hancock 2018 J Exp Orthop 5:46, abstract)."""
    errors = call("evidence", "passive_flexion", "--json").json["errors"]
    told = [each["figure"] for each in errors if each["rests"]["sources"] == ["hancock_2018"]]
    assert told[:5] == ["MSD 14°", "MSD 14°", "MSD 10°", "MSD 12°", "MSD 6°"]
    page = " ".join(call("evidence", "passive_flexion").out.split())
    assert "long goniometer, between examiners: MSD 10°" in page
    assert "Hancock 2018 J Exp Orthop 5:46" in page
    assert "value from memory, original not re-read" in page


def test_a_sign_without_published_accuracy_says_so_and_what_the_model_takes() -> None:
    """A scar: nothing is published, the chances are judgement, and a sound knee may have one."""
    page = " ".join(call("evidence", "scar").out.split())
    assert "No accuracy of this sign is published that we know of." in page
    assert "rests on judgement: common practice" in page
    assert "nothing listed" in page


@pytest.mark.parametrize("options", [(), ("--json",)])
def test_an_unknown_sign_is_refused_with_the_nearest_name(options: tuple[str, ...]) -> None:
    """Exit code 1, one line."""
    left = call("evidence", "lachmann", *options)
    assert (left.code, left.out) == (1, "")
    assert "did you mean 'lachman'" in left.err
