import json
import shutil
from pathlib import Path
from xml.etree import ElementTree as ET

import pypdf
import pytest

from fabella.measure.walking import measure_walk
from fabella.measure.walking_pace import Estimate
from fabella.measure.walking_table import read_table
from fabella.protocol import load_protocol
from fabella.record.walked import findings_of_walk
from fabella.report.walking_words import with_error
from tests.cli.running import MORNINGS, ROOT, Left, call

GAIT = ROOT / "examples" / "gait"
MARKERS = [
    f"--name={role}={name}"
    for role, name in {
        "sacrum": "SAC",
        **{
            f"{side}_{joint}": f"{label}_{side[0].upper()}"
            for side in ("right", "left")
            for joint, label in {
                "heel": "HEEL",
                "toe": "TOE",
                "hip": "HIP",
                "knee": "KNEE",
                "ankle": "ANK",
            }.items()
        },
    }.items()
]


def test_taps_give_a_page_that_tells_what_was_left_out() -> None:
    """The example of taps, with a double and a missed tap, is told with its cadence and both faults."""
    # Made of steps of 0.61 and 0.53 s: 60 / 0.57 = 105.3 a minute, the left step sooner by 0.08 s.
    done = run("gait", GAIT / "taps.csv")
    assert "106.1 ± 0.8 steps/min" in done.out
    assert "+0.079 ± 0.027 s" in done.out
    assert "left out as a double" in done.out
    assert "is missing: not counted across" in done.out


def test_markers_of_a_c3d_file_give_everything_in_json() -> None:
    """The figure with a stiff right knee, recorded by markers: its cadence, bends and speed come back."""
    # The file was made from the figure: 98 steps a minute, stride 1.3 m, peaks of 44 and 60 degrees.
    answer = json.loads(run("gait", GAIT / "markers.c3d", *MARKERS, "--json").out)
    assert answer["format"] == "fabella.gait/1"
    assert answer["timing"] == "markers"
    assert answer["cadence_per_min"]["value"] == pytest.approx(98, abs=0.5)
    assert answer["stride_m"]["value"] == pytest.approx(1.3, abs=0.01)
    assert answer["speed_m_per_s"]["value"] == pytest.approx(1.3 * 98 / 120, abs=0.01)
    assert answer["knees"]["right"]["peak_deg"]["value"] == pytest.approx(44, abs=1.5)
    assert answer["knees"]["left"]["peak_deg"]["value"] == pytest.approx(60, abs=1.5)
    assert len(answer["knees"]["left"]["mean_deg"]) == 101
    assert {each["sign"] for each in answer["findings"]} == {
        "cadence", "stride_length", "gait_speed", "stance_share"
    }  # fmt: skip


def test_a_page_of_two_knees_fits_a_narrow_terminal_in_plain_characters() -> None:
    """Both knees are drawn with letters over the published mean, and the page says what the letters are."""
    out = run("gait", GAIT / "knees.csv").out
    assert "R right   L left   X both   . published mean" in out
    assert "laboratories differ" in out
    assert max(map(len, out.splitlines())) <= 80


def run(*arguments: object, code: int = 0) -> Left:
    """Run the command and see how it left."""
    left = call(*arguments)
    assert left.code == code, left.err
    return left


@pytest.fixture
def examination(tmp_path: Path) -> Path:
    """An invented examination of one's own."""
    return Path(shutil.copy(MORNINGS, tmp_path / "mine.json"))


def test_findings_go_into_an_examination_once(examination: Path) -> None:
    """Cadence and stance stand in the file with unit and method; the same again changes nothing."""
    before = json.loads(examination.read_text("utf-8"))
    run("gait", GAIT / "film.csv", "--fps", "30", "--into", examination)
    after = json.loads(examination.read_text("utf-8"))
    new = {(e["sign"], e.get("side")): e for e in after["findings"] if e not in before["findings"]}
    assert set(new) == {("cadence", None), ("stance_share", "right"), ("stance_share", "left")}
    assert new["cadence", None]["unit"] == "steps/min"
    assert new["cadence", None]["method"] == "events marked on a film"
    assert "standard error" in new["cadence", None]["note"]
    assert [each for each in after["findings"] if each in before["findings"]] == before["findings"]
    text = examination.read_bytes()
    run("gait", GAIT / "film.csv", "--fps", "30", "--into", examination)
    assert examination.read_bytes() == text
    assert run("check", examination).code == 0


def test_nothing_recorded_is_overwritten_silently(examination: Path) -> None:
    """Another cadence is refused with both values, the file untouched, and taken only with --replace."""
    run("gait", GAIT / "film.csv", "--fps", "30", "--into", examination)
    text = examination.read_bytes()
    refused = run("gait", GAIT / "taps.csv", "--into", examination, code=1)
    assert "cadence: '98' is recorded already; measured now: 106.1 steps/min" in refused.err
    assert "or say --replace" in refused.err
    assert examination.read_bytes() == text
    run("gait", GAIT / "taps.csv", "--into", examination, "--replace")
    found = json.loads(examination.read_text("utf-8"))["findings"]
    assert [each["value"] for each in found if each["sign"] == "cadence"] == [106.1]


def test_findings_say_only_what_their_signs_ask_for() -> None:
    """A limp of 14 % makes no finding of an antalgic gait, and each finding has its sign's own unit."""
    walking = measure_walk(read_table((GAIT / "taps.csv").read_text("utf-8"), names={}))
    findings = findings_of_walk(walking)
    assert [each.sign for each in findings] == ["cadence"]
    for each in findings:
        scale = load_protocol().sign(each.sign).scale
        assert scale.measure is not None
        assert each.unit == scale.measure.unit
        assert each.state is None


def test_drawings(tmp_path: Path) -> None:
    """A drawing is an SVG that says in words what it shows, or a page in PDF with the same numbers."""
    run("gait", GAIT / "knees.csv", "--out", tmp_path / "walk.svg")
    root = ET.fromstring((tmp_path / "walk.svg").read_text("utf-8"))  # noqa: S314  our own
    says = next(each.text or "" for each in root.iter() if each.tag.endswith("desc"))
    assert "Most bent in swing: right 44.2 ± 3.0°, left 60.2 ± 3.0°." in says
    run("gait", GAIT / "knees.csv", "--out", tmp_path / "walk.pdf")
    text = "".join(page.extract_text() for page in pypdf.PdfReader(tmp_path / "walk.pdf").pages)
    assert "98.0 ± 0.4 steps/min" in text


def test_faults_of_the_command_are_told_together() -> None:
    """Names that are none and a drawing of a wrong kind come in one message."""
    said = run("gait", GAIT / "taps.csv", "--name", "heel", "--name", "=x", "--out", "walk.png", code=2).err
    assert "--name heel" in said
    assert "--name =x" in said
    assert "walk.png" in said


def test_a_walk_is_read_from_standard_input() -> None:
    """Piped in, with the line ends of another system, a walk is the same."""
    content = (GAIT / "taps.csv").read_bytes()
    piped = call("gait", "-", stdin=content.replace(b"\n", b"\r\n"))
    assert piped == run("gait", GAIT / "taps.csv")


def test_nothing_is_written_where_something_fails(examination: Path, tmp_path: Path) -> None:
    """A drawing is not drawn over another, and when it cannot be drawn the examination stays as it was."""
    before, out = examination.read_bytes(), tmp_path / "walk.svg"
    out.write_text("mine", "utf-8")
    wanted = ("gait", GAIT / "taps.csv", "--into", examination, "--out")
    assert "is there already" in run(*wanted, out, code=2).err
    assert "cannot write" in run(*wanted, tmp_path / "nowhere" / "walk.svg", code=2).err
    assert out.read_text("utf-8") == "mine"
    assert examination.read_bytes() == before
    run(*wanted, out, "--replace")
    assert "<svg" in out.read_text("utf-8")


def test_a_link_to_an_examination_stays_a_link(examination: Path, tmp_path: Path) -> None:
    """What is measured goes into the file that a link leads to."""
    link = tmp_path / "link.json"
    link.symlink_to(examination)
    before = examination.read_bytes()
    run("gait", GAIT / "taps.csv", "--into", link)
    assert link.is_symlink()
    assert examination.read_bytes() != before


def test_no_difference_is_no_negative_one() -> None:
    """A right step that is shorter by less than is printed is printed as no difference, without a minus."""
    nothing = Estimate(value=-0.0004, error=0.0001, low=-0.0006, high=0.0002, n=8)
    assert with_error(nothing, "s", digits=2, signed=True) == "+0.00 ± 0.01 s"


@pytest.mark.parametrize(
    ("arguments", "code", "says"),
    [
        ([GAIT / "nowhere.csv"], 2, "there is no such file"),
        ([GAIT / "taps.csv", "--out", "walk.png"], 2, "ending in .svg or .pdf"),
        ([GAIT / "taps.csv", "--replace"], 2, "--replace goes with --into or --out"),
        ([GAIT / "taps.csv", "--into", "-"], 2, "standard input cannot be written to"),
        ([GAIT / "taps.csv", "--name", "foot=Fuß"], 1, "foot: 'Fuß' is no column of this file"),
        ([GAIT / "taps.csv", "--distance", "1000"], 1, "faster than anybody walks"),
        ([GAIT / "taps.csv", "--name", "right_heel"], 2, "write ROLE=NAME"),
        ([GAIT / "film.csv"], 1, "time_s: is not named"),
        ([GAIT / "taps.csv", "--events", GAIT / "taps.csv"], 2, "holds contacts itself"),
        ([GAIT / "taps.csv", "--unit", "cm", "--up", "y"], 2, "--up y: "),
        ([GAIT / "taps.csv", "--unit", "cm"], 2, "taps.csv holds no markers; leave it out"),
        ([GAIT / "markers.c3d", *MARKERS, "--unit", "m"], 2, "markers.c3d says it itself; leave it out"),
        ([GAIT / "markers.c3d", *MARKERS, "--fps", "30"], 2, "--fps 30.0: "),
        ([GAIT / "markers.c3d"], 1, "HEEL_R"),
        ([MORNINGS], 1, "cells"),
    ],
)
def test_bad_requests_are_refused_in_words(arguments: list[object], code: int, says: str) -> None:
    """One message says what is wrong, without a traceback."""
    refused = run("gait", *arguments, code=code)
    assert says in refused.err
    assert "Traceback" not in refused.err
