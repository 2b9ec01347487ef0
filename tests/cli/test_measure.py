import io
import json
import shutil
from pathlib import Path
from xml.etree import ElementTree as ET

import pypdf
import pytest
from PIL import Image

from fabella.cli.commands import COMMANDS
from fabella.measure import VIEWS
from tests.cli.running import HANDBALL, MORNINGS, ROOT, Left, call

KNEE = ROOT / "examples" / "measure" / "bent_knee.png"
POINTS = KNEE.with_suffix(".json")
DRAWN_DEG = 118
"""The angle at which the figure room drew the example; its points are the joints it was drawn from."""


def _measured(*arguments: object) -> Left:
    return call("measure", KNEE, "--points", POINTS, *arguments)


def _refused(*arguments: object, code: int) -> str:
    done = call("measure", *arguments)
    assert done.code == code
    assert "Traceback" not in done.err
    assert not done.out
    return done.err


def test_the_drawn_knee_is_measured_as_it_was_drawn() -> None:
    """A knee drawn bent by 118 degrees is measured as that, with an interval that holds it."""
    done = _measured("--json")
    reading = done.json["readings"][0]
    assert reading["value"] == pytest.approx(DRAWN_DEG, abs=0.2)
    assert reading["low"] < DRAWN_DEG < reading["high"]
    page = _measured().out
    assert "118° ± 2.7° (95 % 113° to 123°)" in page
    assert page.count("consent") == 1
    assert done.json["finding"] == {
        "sign": "passive_flexion",
        "side": "right",
        "value": 118,
        "unit": "deg",
        "method": "photograph from the side, three landmarks",
        "note": "standard error 2.7 deg",
    }
    mirrored = _measured("--mirrored", "--json").json["finding"]
    assert mirrored["method"] == "photograph from the side, three landmarks, mirrored"


def test_points_on_the_command_line_are_those_of_the_file() -> None:
    """Written as options the same landmarks give the same answer."""
    told = json.loads(POINTS.read_text("utf-8"))
    options = [f"--point={name}={x},{y}" for name, (x, y) in told["points"].items()]
    done = call("measure", KNEE, "--view", "bent_knee", "--side", "right", *options, "--json")
    assert done.json == _measured("--json").json


def test_the_views_tell_what_to_point_at() -> None:
    """Without a picture every view is told, or one, with its landmarks in order and what it gives."""
    page = call("measure").out
    assert all(f"{view.id}: {view.name}" in page for view in VIEWS)
    one = call("measure", "--view", "standing_front", "--json").json["views"]
    assert [each["id"] for each in one[0]["landmarks"]] == ["iliac_spine", "patella", "ankle"]
    assert one[0]["quantities"][0]["signs"] == ["tibiofemoral_angle"]
    assert "did you mean 'standing_front'" in _refused("--view", "standing_frnt", code=1)


def test_it_is_set_against_the_other_side() -> None:
    """What stands there with another value stays until --replace, which leaves all else as it is."""
    before = HANDBALL.read_bytes()
    done = _measured("--beside", HANDBALL)
    assert "left 145°, beyond measurement error" in done.out
    assert HANDBALL.read_bytes() == before


def test_it_goes_into_an_examination_only_once_unless_asked(tmp_path: Path) -> None:
    """What stands there with another value stays until --replace, which leaves the rest untouched."""
    file = Path(shutil.copy(HANDBALL, tmp_path))
    before = json.loads(file.read_text("utf-8"))
    refused = _measured("--into", file)
    assert refused.code == 1
    assert "passive_flexion, right: '95' is recorded already; measured now: 118 deg" in refused.err
    assert json.loads(file.read_text("utf-8")) == before
    assert _measured("--into", file, "--replace").code == 0
    after = json.loads(file.read_text("utf-8"))
    changed = [
        (old, new) for old, new in zip(before["findings"], after["findings"], strict=True) if old != new
    ]
    assert [new["value"] for _, new in changed] == [118]
    assert changed[0][1]["method"] == "photograph from the side, three landmarks"
    assert call("check", file).code == 0
    assert _measured("--into", file).code == 0  # the same finding again is no contradiction
    assert list(tmp_path.iterdir()) == [file]


def test_a_view_of_two_signs_enters_the_one_asked_for(tmp_path: Path) -> None:
    """A bent knee is passive flexion unless it is said to be active."""
    file = Path(shutil.copy(MORNINGS, tmp_path))
    assert _measured("--as", "active_flexion", "--into", file, "--replace").code == 0
    found = json.loads(file.read_text("utf-8"))["findings"]
    mine = [each for each in found if each["sign"] == "active_flexion" and each["side"] == "right"]
    assert [each["value"] for each in mine] == [118]


def test_the_drawing_holds_the_picture_the_points_and_the_value(tmp_path: Path) -> None:
    """The SVG is well formed, holds the picture, a ring for each landmark, the arc, and says all in words."""
    out = tmp_path / "taken.svg"
    assert _measured("--out", out).code == 0
    svg = ET.fromstring(out.read_text("utf-8"))  # noqa: S314  our own drawing
    name = "{http://www.w3.org/2000/svg}"
    image = svg.find(f"{name}image")
    assert image is not None
    assert image.attrib["href"].startswith("data:image/jpeg;base64,")
    assert len(svg.findall(f"{name}circle")) == 2 * 3
    said = svg.findtext(f"{name}desc") or ""
    assert "Flexion of the right limb 118°" in said
    assert "lateral malleolus" in "".join(svg.itertext())


def test_a_drawing_is_never_written_over_unasked(tmp_path: Path) -> None:
    """A file that is there stays as it is until --replace."""
    out = tmp_path / "taken.svg"
    out.write_text("mine", "utf-8")
    assert "is there already" in _refused(KNEE, "--points", POINTS, "--out", out, code=2)
    assert out.read_text("utf-8") == "mine"
    assert _measured("--out", out, "--replace").code == 0
    assert "<svg" in out.read_text("utf-8")


def test_the_page_is_a_pdf_with_the_value_and_the_cautions(tmp_path: Path) -> None:
    """The PDF says value, error, how it was taken, and that a picture of a patient needs consent."""
    out = tmp_path / "taken.pdf"
    assert _measured("--out", out).code == 0
    text = " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(out).pages).split())
    for words in ("118° ± 2.7°", "113° to 123°", "three landmarks", "needs consent"):
        assert words in text


def test_nothing_that_names_a_person_leaves_with_the_drawing(tmp_path: Path) -> None:
    """What a camera noted is in the photograph and neither in the drawing nor in the answer."""
    exif = Image.Exif()
    exif[0x010E] = "Jane Invented"
    photo, out = tmp_path / "knee.jpg", tmp_path / "taken.svg"
    with Image.open(KNEE) as drawn:
        drawn.convert("RGB").save(photo, exif=exif, comment=b"Jane Invented")
    assert b"Jane Invented" in photo.read_bytes()
    done = call("measure", photo, "--points", POINTS, "--out", out, "--json")
    assert done.code == 0
    assert "Invented" not in done.out
    assert "Invented" not in out.read_text("utf-8")
    assert b"Invented" not in _embedded(out)


def _embedded(svg: Path) -> bytes:
    import base64  # noqa: PLC0415  only here

    drawing = ET.fromstring(svg.read_text("utf-8"))  # noqa: S314  our own drawing
    image = drawing.find("{http://www.w3.org/2000/svg}image")
    assert image is not None
    content = base64.b64decode(image.attrib["href"].partition(",")[2])
    with Image.open(io.BytesIO(content)) as again:
        assert again.format == "JPEG"
    return content


def test_an_angle_without_a_sign_is_told_and_not_entered(tmp_path: Path) -> None:
    """The mechanical axis of a film has no sign of the examination: it is measured and not entered."""
    film = tmp_path / "film.png"
    Image.new("L", (1000, 2800), 20).save(film)
    points = [
        f"--point={each}" for each in ("femoral_head=500,150", "knee_centre=540,1410", "talus=500,2600")
    ]
    asked = (film, "--view", "long_leg_film", "--side", "right", *points)
    done = call("measure", *asked, "--json")
    # atan(40/1260) + atan(40/1190), the knee lying inside the axis
    assert done.json["readings"][0]["value"] == pytest.approx(3.743, abs=0.002)
    assert done.json["finding"] is None
    assert "has no sign" in _refused(*asked, "--into", HANDBALL, code=2)


@pytest.mark.parametrize(
    ("arguments", "code", "says"),
    [
        ((KNEE,), 2, "say with --view"),
        ((KNEE, "--view", "bent_knee"), 2, "say with --side"),
        ((KNEE, "--view", "bent_knee", "--side", "right"), 1, "trochanter: has no point"),
        ((KNEE, "--points", POINTS, "--side", "left"), 2, "the file of --points says right"),
        ((KNEE, "--points", POINTS, "--point", "trochanter=1,2"), 2, "stands in the file of --points"),
        ((KNEE, "--point", "trochanter=1"), 2, "write LANDMARK=X,Y"),
        ((KNEE, "--point", "trochanter=1,2", "--point", "trochanter=1,2"), 2, "placed twice"),
        ((KNEE, "--points", HANDBALL), 1, "is no file of points"),
        ((KNEE, "--points", POINTS, "--as", "lachman"), 2, "says nothing of it"),
        ((KNEE, "--points", POINTS, "--out", "taken.gif"), 2, "ending in .svg or .pdf"),
        ((KNEE, "--points", POINTS, "--replace"), 2, "--replace goes with"),
        ((KNEE, "--points", POINTS, "--into", "many.jsonl"), 2, "takes a file of one"),
        ((KNEE, "--points", POINTS, "--within", "300"), 1, "is the error of pointing alone"),
        ((HANDBALL, "--points", POINTS), 1, "holds no picture that can be read"),
        (("nowhere.jpg", "--points", POINTS), 2, "there is no such file"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_what_cannot_be_measured_is_said_in_words(
    arguments: tuple[object, ...], code: int, says: str
) -> None:
    """Each wrong question has one answer, with what would be right."""
    assert says in _refused(*arguments, code=code)


def test_a_file_of_points_tells_all_that_is_wrong_with_it(tmp_path: Path) -> None:
    """An unknown key, a side that is none and a point without two numbers are told together."""
    file = tmp_path / "points.json"
    wrong = {
        "format": "fabella.points/1",
        "sid": 1,
        "side": "both",
        "mirrored": 1,
        "points": {"patella": [1]},
    }
    file.write_text(json.dumps(wrong), "utf-8")
    said = _refused(KNEE, "--points", file, code=1)
    for words in (
        "'sid' is not a key of this format",
        "'both' is not allowed here",
        "mirrored: '1' is a number, not true or false",
        "points.patella: is no place",
    ):
        assert words in said


def test_all_that_is_wrong_with_a_question_is_told_at_once() -> None:
    """No side, a landmark of another view, those missing, a sign and a drawing that are none: one message."""
    said = _refused(
        KNEE, "--view", "bent_knee", "--point", "knee=1,2", "--point", "malleolus=1",
        "--as", "lachman", "--out", "x.gif", code=2,
    )  # fmt: skip
    for words in (
        "say with --side",
        "--point malleolus=1: write",
        "--as lachman",
        "x.gif: --out draws",
        "knee: is no landmark of bent_knee",
        "trochanter: has no point",
    ):
        assert words in said
    assert "malleolus: has no point" not in said


def test_a_picture_that_is_forgotten_is_asked_for() -> None:
    """Options of a measurement without a picture are not passed over."""
    assert "name the picture" in _refused("--view", "bent_knee", "--side", "right", code=2)


def test_picture_and_points_come_from_standard_input() -> None:
    """Piped in, either is the same as the file."""
    measured = _measured("--json").json
    assert call("measure", "-", "--points", POINTS, "--json", stdin=KNEE.read_bytes()).json == measured
    assert call("measure", KNEE, "--points", "-", "--json", stdin=POINTS.read_bytes()).json == measured


def test_a_number_of_a_thousand_digits_is_no_place(tmp_path: Path) -> None:
    """A whole number too large for any picture is refused in words."""
    file = tmp_path / "points.json"
    file.write_text(f'{{"format": "fabella.points/1", "points": {{"patella": [1{"0" * 999}, 2]}}}}', "utf-8")
    assert "points.patella: is no place" in _refused(KNEE, "--points", file, code=1)


def test_the_command_is_listed() -> None:
    """It stands among the commands with examples that are those of its help."""
    assert "bent_knee.png" in COMMANDS["measure"].examples[0]


def test_a_landmark_that_stands_twice_in_a_file_is_refused(tmp_path: Path) -> None:
    """JSON readers take the last of two equal keys; an angle from one of two places would be a guess."""
    file = tmp_path / "points.json"
    file.write_text(
        POINTS.read_text("utf-8").replace('"points": {', '"points": {"malleolus": [1, 2], '), "utf-8"
    )
    said = _refused(KNEE, "--points", file, code=1)
    assert said == "fabella: points.malleolus: 'malleolus' stands here more than once; keep one\n"


def test_a_file_of_points_that_is_no_json_says_where_it_breaks_off(tmp_path: Path) -> None:
    """The file is named beside the line, as a picture is asked for with it."""
    file = tmp_path / "points.json"
    file.write_text('{"format": ', "utf-8")
    assert f"{file}: line 1, column 12: the text breaks off" in _refused(KNEE, "--points", file, code=1)
