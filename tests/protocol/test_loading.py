import shutil
from importlib.resources import files
from pathlib import Path

import pytest

from fabella.errors import InputError
from fabella.protocol import load_protocol
from fabella.protocol.loading import read_protocol

DATA = files("fabella.protocol") / "data"

CONTRAINDICATIONS = """
[[contraindication]]
id = "fracture_suspected"
name = "fracture suspected"
why = "It may move."
"""

POSITION = """
id = "lying"
name = "Lying"
patient = "Lies."
seconds = 5

[defaults]
aliases = []
kind = "test"
routine = true
sides = "each"
side_rule = "sound_side_first"
levels = ["no", "yes"]
normal = "Nothing."
seconds = 5
hurts = 0
structures = ["acl"]
provenance = "judgement: common practice"
"""

SIGN = """
[[sign]]
id = "first"
name = "First"
technique = "Look."
"""

# Each defect as written in the file, and the whole line by which it must be reported.
DEFECTS = {
    'kind = "tset"': "kind: 'tset' is not known; did you mean 'test'?",
    'structures = ["acll"]': "structures: 'acll' is not known; did you mean 'acl'?",
    "structures = []": "structures: is empty; name at least one structure",
    'avoid_when = ["fracture"]': "avoid_when: 'fracture' is not known; did you mean 'fracture_suspected'?",
    "hurts = 4": "hurts: '4' is out of range; write a whole number from 0 to 3",
    "hurts = 2": "avoid_when: is missing; a painful sign needs avoid_when or a caution",
    "hurts = true": "hurts: 'True' is of the wrong kind; write a whole number from 0 to 3",
    "seconds = 0": "seconds: '0' is no time; only a sign with summary_of takes none",
    'routine = "yes"': "routine: 'yes' is of the wrong kind; write true or false",
    'normal = " "': "normal: ' ' is blank; write a text",
    'levels = ["no"]': "levels: 'no' is the only level; write at least two, the normal one first",
    'levels = ["no", "no"]': "levels: 'no' stands there twice; keep one",
    "levels = [0, 1]": "levels: '[0, 1]' holds something else than texts; write a list of texts",
    "levels = []": "levels: are missing; write levels, a measure or both",
    'words = ["a"]': "words: '['a']' do not match the levels; write 2 of them",
    'sides = "person"': (
        "side_rule: 'sound_side_first' does not fit 'person'; 'once' goes with 'person', and only with it"
    ),
    "knee_flexion_deg = [30, 20]": (
        "knee_flexion_deg: '[30, 20]' is no range; write two rising numbers from 0 to 160"
    ),
    'provenance = "Lachman"': (
        "provenance: 'Lachman' does not say what it rests on; begin with 'judgement: ' or 'published: '"
    ),
    'tecnique = "Look."': "tecnique: is no known field; did you mean 'technique'?",
    'summary_of = ["second"]': "summary_of: 'second' is no sign that can be summed up",
    'measure = "mm"': "measure: 'mm' is of the wrong kind; write a table",
    'measure = { unit = "mn", low = 0, high = 9, abnormal = "above" }': (
        "measure, unit: 'mn' is not known; did you mean 'min'?"
    ),
    'measure = { unit = "mm", low = 9, high = 0, abnormal = "above" }': (
        "measure, high: '0.0' is not above 9; let low be below high"
    ),
    'measure = { unit = "mm", low = -9, high = 9, abnormal = "above" }': (
        "measure, positive: is missing; say what a positive reading means"
    ),
    'measure = { unit = "mm", low = 0, abnormal = "above" }': "measure, high: is missing; write a number",
}


def written(folder: Path, lying: str, contraindications: str = CONTRAINDICATIONS) -> Path:
    """Write a small protocol and return its folder."""
    (folder / "04_lying.toml").write_text(lying, encoding="utf-8")
    (folder / "contraindications.toml").write_text(contraindications, encoding="utf-8")
    return folder


def complaints(folder: Path) -> list[str]:
    """Return every problem that reading a folder meets, one a line."""
    with pytest.raises(InputError) as refused:
        read_protocol(folder)
    return str(refused.value).splitlines()


def test_the_protocol_is_read_once() -> None:
    """Whoever asks for the protocol gets the same frozen one."""
    assert load_protocol() is load_protocol()


def test_a_good_file_is_read_with_its_defaults(tmp_path: Path) -> None:
    """What a sign does not say itself comes from the defaults of its file."""
    protocol = read_protocol(written(tmp_path, POSITION + SIGN + "hurts = 1\n"))
    (sign,) = protocol.signs
    assert (sign.id, sign.hurts, sign.seconds, sign.caution, sign.scale.measure) == ("first", 1, 5, "", None)
    assert [level.id for level in sign.scale.levels] == ["no", "yes"]
    assert [position.id for position in protocol.positions] == ["lying"]


@pytest.mark.parametrize(("defect", "expected"), DEFECTS.items(), ids=DEFECTS)
def test_one_defect_is_named_with_its_place_and_remedy(tmp_path: Path, defect: str, expected: str) -> None:
    """A defect is reported with file, sign, field, value, what is allowed or nearest, and nothing besides."""
    (line,) = complaints(written(tmp_path, POSITION + SIGN + defect + "\n"))
    assert line == f"04_lying.toml, first, {expected}"


def test_all_defects_of_all_files_are_reported_at_once(tmp_path: Path) -> None:
    """Two broken positions and a broken list of contraindications give one message with every defect."""
    broken = SIGN.replace('"Look."', "7") + 'kind = "loock"\nhurts = 9\n[[sign]]\nid = "second"\n'
    written(tmp_path, POSITION + broken, CONTRAINDICATIONS + "[[contraindication]]\nid = 3\n")
    (tmp_path / "05_bent_up.toml").write_text(POSITION + SIGN, encoding="utf-8")
    (tmp_path / "06_knees_90.toml").write_text("id = ", encoding="utf-8")
    unreadable, *others = sorted(complaints(tmp_path), key=lambda line: (not line.startswith("06"), line))
    assert unreadable.startswith("06_knees_90.toml: cannot be read: ")
    assert others == sorted(
        [
            "contraindications.toml, 3, id: '3' is of the wrong kind; write a text",
            "contraindications.toml, 3, name: is missing; write a text",
            "contraindications.toml, 3, why: is missing; write a text",
            "04_lying.toml, first, technique: '7' is of the wrong kind; write a text",
            "04_lying.toml, first, kind: 'loock' is not known; did you mean 'look'?",
            "04_lying.toml, first, hurts: '9' is out of range; write a whole number from 0 to 3",
            "04_lying.toml, second, name: is missing; write a text",
            "04_lying.toml, second, technique: is missing; write a text",
            "05_bent_up.toml, id: 'lying' is not the name of the file; write 'bent_up'",
            "05_bent_up.toml, first: 'first' already calls 04_lying.toml, first; keep one",
            "05_bent_up.toml, first: 'First' already calls 04_lying.toml, first; keep one",
        ]
    )


@pytest.mark.parametrize("alias", ["first", "FIRST", "First"])
def test_an_alias_may_not_call_another_sign(tmp_path: Path, alias: str) -> None:
    """A name that would call two signs is refused, whatever its case."""
    second = SIGN.replace("irst", "cond").replace('"fcond"', '"second"').replace('"Fcond"', '"Second"')
    lines = complaints(written(tmp_path, POSITION + SIGN + second + f'aliases = ["{alias}"]\n'))
    assert lines == [f"04_lying.toml, second: '{alias}' already calls 04_lying.toml, first; keep one"]


def test_an_alias_must_say_something_new(tmp_path: Path) -> None:
    """An alias that is the sign's own name in another spelling is left out."""
    lines = complaints(written(tmp_path, POSITION + SIGN + 'aliases = ["FIRST"]\n'))
    assert lines == ["04_lying.toml, first, aliases: 'FIRST' says nothing new; leave it out"]


def test_a_file_without_signs_is_a_defect(tmp_path: Path) -> None:
    """A position in which nothing is done, or whose signs are no tables, is refused."""
    assert complaints(written(tmp_path, POSITION)) == [
        "04_lying.toml, sign: is missing; write at least one [[sign]]"
    ]
    assert complaints(written(tmp_path, 'sign = ["lachman"]\n' + POSITION)) == [
        "04_lying.toml, sign: 'lachman' is no table; write [[sign]]"
    ]


def test_a_file_with_another_name_is_a_defect(tmp_path: Path) -> None:
    """A data file whose name has no number and position is not passed over in silence."""
    written(tmp_path, POSITION + SIGN)
    (tmp_path / "lying.toml").write_text(POSITION + SIGN, encoding="utf-8")
    assert complaints(tmp_path) == ["lying.toml: is no name for a position; name it like 04_lying.toml"]


def test_a_copy_of_the_data_reads_the_same(tmp_path: Path) -> None:
    """The examination depends on its data alone, wherever the folder lies."""
    shutil.copytree(Path(str(DATA)), tmp_path / "data")
    assert read_protocol(tmp_path / "data") == load_protocol()
