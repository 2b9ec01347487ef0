import json
from pathlib import Path

import pytest

from fabella.cli.practice_lines import Asked, read_line
from fabella.errors import InputError
from fabella.protocol import load_protocol
from fabella.teach import Act, Event, practice_lesions
from tests.cli.running import call

PROTOCOL = load_protocol()
RUN = b"""greet
wash
consent
where
expose
watch
giving way
lachman right left
note lachman left 2+
note lachman right 4
effusion sweep left
believe acl tear 60, medial meniscus tear 30
complete hip; pulses
end
"""


def typed(line: str) -> list[Event]:
    """The events of a line."""
    read = read_line(line, protocol=PROTOCOL)
    assert not isinstance(read, Asked)
    return list(read)


def test_a_run_from_a_file_ends_in_a_debrief() -> None:
    """Typed lines are played, the patient answers, and the end tells what it was and what to practise."""
    left = call("practice", "--seed", 7, "--setting", "emergency", "--minutes", 8, stdin=RUN)
    assert (left.code, left.err) == (0, "")
    assert "year-old" in left.out.splitlines()[0]
    assert "Lachman test" in left.out
    played, _, debriefed = left.out.partition("What it was")
    assert "One thing to practise next" in debriefed
    assert "supervision" in debriefed
    assert "the ideal examiner" in debriefed
    told = [each for each in played.splitlines() if "You think: " not in each]
    assert len(told) < len(played.splitlines()), "what was believed is repeated as it was understood"
    assert "tear" not in "".join(told)


def test_the_same_seed_is_the_same_run() -> None:
    """Played twice, every word is the same; another seed is somebody else."""
    first, second = (call("practice", "--seed", 7, "--json", stdin=RUN).json for _ in range(2))
    assert first == second
    assert call("practice", "--seed", 8, "--json", stdin=RUN).json["present"] != {} != first["present"]


def test_the_debrief_as_json_leaves_the_run_to_standard_error() -> None:
    """Standard output holds one tree; what was played went to standard error."""
    left = call("practice", "--seed", 7, "--json", "--told", stdin=RUN)
    assert left.json["format"] == "fabella.debrief/1"
    assert left.json["believed"] == {"acl_tear": 0.6, "medial_meniscus_tear": 0.3}
    assert left.json["timeline"][-1]["event"]["act"] == "finish"
    assert "year-old" in left.err


def test_a_teacher_gets_a_recipe_without_the_answer(tmp_path: Path) -> None:
    """A wish writes one line of JSON; played, its patient has the lesion."""
    left = call("practice", "--lesion", "medial_meniscus_tear:displaced", "--age", 24, "--seed", 1)
    assert left.code == 0
    assert "meniscus" not in left.out
    assert left.json["age_years"] == 24
    recipe = tmp_path / "class.json"
    recipe.write_text(left.out, "utf-8")
    tree = call("practice", "--recipe", recipe, "--json", stdin=b"end\n").json
    knees = [each["id"] for lesions in tree["present"].values() for each in lesions]
    assert "medial_meniscus_tear" in knees


def test_cards_are_printed_for_three() -> None:
    """With --cards nothing is played: three people get what they need."""
    left = call("practice", "--seed", 7, "--cards")
    assert left.code == 0
    assert "For the one who plays" in left.out
    assert "supervision" in left.out


def test_wrong_wishes_and_levels_are_refused_with_the_nearest() -> None:
    """An unknown lesion is an input that is wrong, an unknown level a command wrongly asked."""
    assert call("practice", "--lesion", "acl_taer").code == 1
    left = call("practice", "--level", "frist")
    assert (left.code, left.out) == (2, "")
    assert "first" in left.err
    assert "cannot_wait" in call("practice", "--level", "?").out


def test_what_is_not_understood_costs_nothing_and_says_what_is_near() -> None:
    """A slip of the finger changes nothing, and the nearest names are told."""
    left = call(
        "practice", "--seed", 7, "--json", stdin=b"lachmann left\nlachman\nnote lachman left 9+\nend\n"
    )
    assert len(left.json["timeline"]) == 1
    assert "lachman" in left.err
    assert "needs a side" in left.err
    assert "slight" in left.err


@pytest.mark.parametrize(
    ("line", "events"),
    [
        ("lachman right left", [("lachman", "right"), ("lachman", "left")]),
        ("test Lachman end point left", [("lachman_end_point", "left")]),
        ("ask giving way", [("giving_way", None)]),
        ("wash", [("hand_hygiene", None)]),
        ("step-off right", [("tibial_step_off", "right")]),
    ],
)
def test_signs_are_named_by_id_name_alias_or_part(line: str, events: list[tuple[str, str | None]]) -> None:
    """However a sign is named, with or without a verb, it is done on the sides in the order typed."""
    assert [(each.sign, each.side) for each in typed(line)] == events


@pytest.mark.parametrize(
    ("line", "level", "value"),
    [
        ("note lachman left 2+", "2+", None),
        ("note lachman left clear", "2+", None),
        ("note lachman left 8 mm", None, 8.0),
        ("note lachman left normal", "0", None),
        ("note posterior sag left positive", "yes", None),
        ("note passive extension right -5", None, -5.0),
        ("note lachman left untestable", None, None),
        ("note body temperature 38.2", None, 38.2),
    ],
)
def test_results_are_levels_numbers_or_words(line: str, level: str | None, value: float | None) -> None:
    """A result may be a level by its name or words, a number with or without its unit, or untestable."""
    (event,) = typed(line)
    assert (event.act, event.level, event.value) == (Act.RECORD, level, value)


def test_beliefs_are_percentages_of_lesions() -> None:
    """Names of lesions may be short as long as they are clear."""
    (event,) = typed("believe acl tear 70%, osteoarthritis 20")
    assert event.beliefs == (("acl_tear", 0.7), ("osteoarthritis", 0.2))
    wrong = ("believe acl tear", "believe elbow 20", "believe prosthesis loosening 20", "believe acl, mcl 20")
    for each in wrong:
        with pytest.raises(InputError):
            typed(each)


def test_that_it_is_none_of_the_lesions_can_be_typed() -> None:
    """A sound knee with a complaint is a differential too: nothing, said."""
    assert typed("believe nothing") == typed("think none") == [Event(act=Act.BELIEVE)]


def test_a_lesion_is_believed_under_all_its_names() -> None:
    """What a lesion is called here, commas included, and what else it is called, is understood."""
    for lesion in practice_lesions():
        for name in (lesion.name, *(each.replace("_", " ") for each in (lesion.id, *lesion.also))):
            second = "pcl tear" if lesion.id == "acl_tear" else "acl tear"
            (event,) = typed(f"believe {name} 60%, {second} 5")
            assert event.beliefs[0] == (lesion.id, 0.6), name


def test_a_lesion_is_believed_once() -> None:
    """A lesion named twice in one line, under any of its names, is refused by its name."""
    with pytest.raises(InputError, match="anterior cruciate ligament tear' is named twice"):
        typed("believe acl tear 70, anterior cruciate ligament tear 20")


def test_time_and_lists_are_told_without_costing_time() -> None:
    """Asking for the clock, the signs or the levels adds no event."""
    left = call(
        "practice",
        "--seed",
        7,
        "--minutes",
        5,
        "--json",
        stdin=b"time\nlist walking\nlevels lachman\nhelp\nend\n",
    )
    assert "5:00 left" in left.err
    assert "antalgic gait" in left.err
    assert "slight" in left.err
    assert json.loads(left.out)["seconds"] == 0


def test_lines_and_recipes_that_are_no_text_end_no_run(tmp_path: Path) -> None:
    """A line in another encoding is not understood, and a recipe is refused by its name."""
    left = call("practice", "--seed", 1, stdin=b"\xff\xfe\nlachman right\nend\n")
    assert (left.code, left.err) == (0, "")
    recipe = tmp_path / "recipe.json"
    recipe.write_bytes(b"\xff\xfe{}")
    left = call("practice", "--recipe", recipe, stdin=b"end\n")
    assert (left.code, "recipe.json: is not UTF-8 text; save it as UTF-8" in left.err) == (1, True)
