from dataclasses import replace
from datetime import date

import pytest

from fabella.anatomy import Side
from fabella.cli import next as command
from fabella.protocol import load_protocol
from fabella.record import Examination, read_examination
from fabella.workup import Withheld, Workup, run_workup
from tests.cli.running import HANDBALL, MORNINGS, YEARS, call, one_line
from tests.flags.build import exam


def test_steps_are_ranked_and_say_what_they_would_do() -> None:
    """Steps at the bedside come by what they tell for their time and pain, images for their time.

    Plain films stand before magnetic resonance imaging all the same.
    """
    steps = call("next", YEARS, "--json").json["next_steps"]
    kinds = [each["kind"] == "image" for each in steps]
    assert kinds == sorted(kinds)
    for image in (False, True):
        ranked = [each for each in steps if (each["kind"] == "image") is image and not each["before"]]
        worth = [each["bits_per_minute"] for each in ranked]
        assert worth == sorted(worth, reverse=True)
        assert worth
    for step in steps:
        assert sum(each["chance"] for each in step["outlooks"]) == pytest.approx(1, abs=1e-4)


@pytest.mark.parametrize(
    ("path", "image", "purpose"),
    [
        (HANDBALL, "radiograph", ("Probable blood in the joint after an injury", [], None)),
        (HANDBALL, "mri", (None, ["acl_tear"], None)),
        (MORNINGS, "radiograph", (None, ["osteoarthritis"], "weight-bearing")),
        (YEARS, "radiograph", (None, [], None)),
    ],
)
@pytest.mark.parametrize("asked", ["next", "conclude"])
def test_an_image_says_what_it_is_for(
    asked: str, path: str, image: str, purpose: tuple[str | None, list[str], str | None]
) -> None:
    """A rule asks for it, treatment rests on it, or neither, and the keys are always there."""
    steps = call(asked, path, "--json").json["next_steps"]
    said = [(each["ordered_by"], each["confirms"], each["how"]) for each in steps if each["id"] == image]
    assert said
    assert all(each == purpose for each in said)


def test_the_page_tells_each_outcome() -> None:
    """Every outcome of the first step stands on the page with its chance and the lesion it would move."""
    steps = call("next", HANDBALL, "--json").json["next_steps"]
    first = next(each for each in steps if not each["ordered_by"])
    text = call("next", HANDBALL).out.partition("At the bedside")[2]
    block = text.split(" 1. ")[1].split(" 2. ")[0]
    assert first["name"].lower() in block.lower()
    assert block.count(" → ") == len(first["outlooks"])
    for outlook in first["outlooks"]:
        assert f"({round(outlook['chance'] * 100)}%)" in block


def test_what_cannot_wait_comes_before_any_step() -> None:
    """A met rule stands above the steps, with what to do."""
    text = call("next", HANDBALL).out
    assert text.startswith("  ! Right knee, within 48 hours: Probable blood in the joint")
    assert text.index("aspirate") < text.index("What next")


def test_what_could_not_be_excluded_comes_before_any_step(monkeypatch: pytest.MonkeyPatch) -> None:
    """A hot swollen knee of unknown history is asked about infection before anything else."""
    hot = exam({"warmth": "hot", "effusion": "large", "unable_to_weight_bear": True}, age=61)
    monkeypatch.setattr(command, "run_workup", lambda _: run_workup(hot))
    text = " ".join(call("next", HANDBALL).out.split())
    assert text.index("cannot be excluded: Septic arthritis") < text.index("ask when it began")
    assert text.index("ask when it began") < text.index("What next")
    assert call("next", HANDBALL, "--json").json["unsettled"] is True


def test_top_and_side_choose(monkeypatch: pytest.MonkeyPatch) -> None:
    """With --top and --side only that many steps about that knee are given."""
    answer = call("next", MORNINGS, "--json", "--top", "1", "--side", "left").json
    kinds = [each["kind"] == "image" for each in answer["next_steps"]]
    assert {each["side"] for each in answer["next_steps"]} == {"left"}
    assert (kinds.count(False), kinds.count(True)) == (1, 1)
    whole = call("next", MORNINGS, "--json").json["next_steps"]
    assert {each["side"] for each in whole} == {"left", "right"}
    assert len(whole) > len(kinds)
    monkeypatch.setenv("COLUMNS", "200")
    assert "right knee" not in call("next", MORNINGS, "--side", "left").out


def changed(monkeypatch: pytest.MonkeyPatch, **changes: object) -> None:
    """Let the command be given other advice."""

    def other(examination: Examination) -> Workup:
        workup = run_workup(examination)
        assert workup.advice is not None
        return replace(workup, advice=replace(workup.advice, **changes))  # type: ignore[arg-type]

    monkeypatch.setattr(command, "run_workup", other)


def test_enough_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    """When nothing at the bedside would change the plan the command says so, in both forms."""
    enough = "Nothing left at the bedside would change the plan."
    changed(monkeypatch, enough=True, bedside=(), unsettled=False)
    assert enough in call("next", HANDBALL).out
    assert "At the bedside" not in call("next", HANDBALL).out
    assert call("next", HANDBALL, "--json").json["enough"] is True
    changed(monkeypatch, enough=False)
    assert enough not in call("next", HANDBALL).out


def test_an_image_of_both_knees_is_one_step(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same image for the same on either knee is one line; its time is that of each."""
    examination = read_examination(YEARS.read_bytes(), protocol=load_protocol(), today=date(2100, 1, 1))
    advice = run_workup(examination).advice
    assert advice is not None
    image = replace(advice.images[0], name="Image")
    both = tuple(replace(image, side=side) for side in Side)
    other = replace(image, id="other", name="Another image", side=Side.LEFT)
    changed(monkeypatch, first=both, images=(*both, other))
    page = " ".join(call("next", YEARS, "--top", "2").out.split())
    assert page.count("Image, both knees") == 2
    assert " min each) " in page
    assert "2. Another image, left knee" in page


def test_what_must_not_be_done_is_named_with_the_reason(monkeypatch: pytest.MonkeyPatch) -> None:
    """Withheld manoeuvres stand together under their reason, those of both knees once."""
    reason = "Fracture suspected"
    withheld = tuple(
        Withheld(id=name, name=said, side=side, reasons=(reason,))
        for side in Side
        for name, said in (("mcmurray_medial", "McMurray, medial"), ("thessaly", "Thessaly test"))
    )
    changed(monkeypatch, withheld=withheld)
    monkeypatch.setenv("COLUMNS", "200")
    names = "fracture suspected: McMurray, medial; Thessaly test."
    assert f"Both knees, {names}" in call("next", HANDBALL).out
    assert f"Left knee, {names}" in call("next", HANDBALL, "--side", "left").out
    assert [each["why"] for each in call("next", HANDBALL, "--json").json["withheld"]] == [reason] * 4


def test_several_examinations_are_a_usage_error() -> None:
    """The command advises on one patient at a time."""
    left = call("next", "-", stdin=f"{one_line(HANDBALL)}\n{one_line(YEARS)}\n".encode())
    assert (left.code, left.out) == (2, "")
    assert "more than one examination" in left.err
