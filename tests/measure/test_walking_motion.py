import io
import re
import warnings
from collections.abc import Mapping
from pathlib import Path

import c3d
import numpy as np
import pytest

from fabella.anatomy import Side
from fabella.errors import InputError
from fabella.figure.stride import WalkingLeg
from fabella.figure.tables import gait
from fabella.figure.walking import Walk
from fabella.measure.walking_c3d import is_c3d, read_c3d
from fabella.measure.walking_contacts import Foot, steady
from fabella.measure.walking_knees import contacts_of_knees, healthy_boys, knees
from fabella.measure.walking_markers import Markers, read_walk, speed_of
from fabella.measure.walking_pace import Timing, pace
from fabella.measure.walking_stance import stance_shares
from fabella.measure.walking_table import Angles, Events, read_table
from tests.measure.walkers import figure_markers

WALKS = {
    "sound": Walk(),
    "painful right knee": Walk(
        right=WalkingLeg(stance_share_pct=56, peak_flexion_deg=40, stiff=True, limp=1),
        left=WalkingLeg(stance_share_pct=64),
        cadence_per_min=90,
    ),
}


@pytest.mark.parametrize("name", WALKS)
def test_the_figure_comes_back_from_its_markers(name: str) -> None:
    """Cadence, speed and bend of the figure are found again; its stance within the error told of it."""
    walk = WALKS[name]
    times, places = figure_markers(walk)
    found = read_walk(Markers(times_s=times, places=places))
    steps = steady(found.contacts, ends=0)
    pacing = pace(steps, timing=Timing.MARKERS)
    assert pacing.cadence_per_min.value == pytest.approx(walk.cadence_per_min, rel=1e-3)
    both = speed_of(steps, found, times)
    assert both is not None
    assert both[0].value == pytest.approx(1.3 * 1000 / walk.stride_ms, rel=1e-3)
    assert both[1].value == pytest.approx(1.3, rel=1e-3)
    shares = stance_shares(steps, found.leavings)
    legs = {Foot.RIGHT: walk.right, Foot.LEFT: walk.left}
    curves = knees(steps, found.angles, times)
    for foot, leg in legs.items():
        assert curves.curves[foot].peak_deg.value == pytest.approx(leg.peak_flexion_deg, abs=1)
        assert shares[foot].value == pytest.approx(leg.stance_share_pct, abs=2 * shares[foot].error)
    assert curves.differences is not None
    difference = curves.differences["peak_deg"]
    assert difference.value == pytest.approx(
        walk.right.peak_flexion_deg - walk.left.peak_flexion_deg, abs=0.5
    )
    late = walk.contact_pct(Side.LEFT) / 100 * walk.stride_ms / 1000
    truth = (walk.stride_ms / 1000 - late) - late  # right step less left step
    assert pacing.difference_s.value == pytest.approx(truth, abs=2 * pacing.difference_s.error)


def test_contacts_from_the_knees_alone() -> None:
    """Where only knee angles are known, contacts of the figure come within 3 % of a stride."""
    walk = WALKS["painful right knee"]
    times, places = figure_markers(walk)
    angles = read_walk(Markers(times_s=times, places=places)).angles
    contacts = contacts_of_knees(angles, times)
    assert len(contacts) >= 13
    for each in contacts:
        at = each.at_s / walk.stride_ms * 1e5 - (
            0 if each.foot is Foot.RIGHT else walk.contact_pct(Side.LEFT)
        )
        assert min(at % 100, 100 - at % 100) < 3


def test_healthy_boys_bend_as_published_curves_do() -> None:
    """The boys' mean curve has the shape of the figure's published one, though another laboratory's zero."""
    # Two independent sources: Olshen 1989 (38 boys) and Schwartz 2008 (the figure's curve).
    at, mean, sd = np.array(healthy_boys()).T
    usual = np.interp(at, *np.array(gait()["knee"]).T)
    assert np.corrcoef(mean, usual)[0, 1] > 0.98
    assert abs(at[mean.argmax()] - 72) < 3
    assert mean.max() == pytest.approx(74, abs=0.5)
    assert sd.max() < 10


def test_wide_gaps_cost_strides_and_are_told() -> None:
    """A knee that is not seen for a third of a second loses that stride, and no other."""
    times, places = figure_markers(WALKS["sound"])
    found = read_walk(Markers(times_s=times, places=places))
    steps = steady(found.contacts, ends=0)
    gap = {foot: angle.copy() for foot, angle in found.angles.items()}
    gap[Foot.RIGHT][240:275] = np.nan
    curves = knees(steps, gap, times)
    whole = knees(steps, found.angles, times).curves[Foot.RIGHT].strides
    assert curves.curves[Foot.RIGHT].strides == whole - 1
    assert curves.told == ("Of the right knee 1 of 6 strides was left out: angles are missing in it.",)


def as_c3d(places: Mapping[str, np.ndarray], *, rate: float = 100.0) -> bytes:
    """Places in metres as a C3D file in millimetres."""
    writer = c3d.Writer(point_rate=rate)
    writer.set_point_labels(list(places))
    points = 1000 * np.stack(list(places.values()), axis=1)
    for frame in points:
        rows = np.zeros((len(frame), 5), dtype=np.float32)
        rows[:, :3] = frame
        writer.add_frames([(rows, np.array([[]]))])
    into = io.BytesIO()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # that there are no analogue channels
        writer.write(into)
    return into.getvalue()


LABELS = {"sacrum": "SAC", "right_heel": "Heel R", "left_heel": "Heel L"}


@pytest.fixture(scope="module")
def recorded() -> bytes:
    """The sound figure as a C3D file whose markers have a laboratory's own names."""
    _, places = figure_markers(WALKS["sound"], strides=5)
    return as_c3d({LABELS.get(role, role): each for role, each in places.items()})


def test_a_c3d_file_holds_what_was_written(recorded: bytes) -> None:
    """Markers are read in metres under their roles, and the walk is the figure's."""
    assert is_c3d(recorded)
    markers = read_c3d(recorded, names=LABELS)
    _, places = figure_markers(WALKS["sound"], strides=5)
    for role, each in places.items():
        assert markers.places[role] == pytest.approx(each, abs=1e-4)
    assert markers.times_s[1] == pytest.approx(0.01)


def test_a_c3d_file_of_another_writer() -> None:
    """A file that another library wrote (ezc3d 1.7.2) is read to the number."""
    content = (Path(__file__).parent / "other_writer.c3d").read_bytes()
    markers = read_c3d(content, names={"sacrum": "S1", "right_heel": "H.R", "left_heel": "H.L"})
    # Written, in mm: frame k of 50 has S1 at (10 k, 0, 900), H.R at (10 k + 100, -100, 50), H.L at
    # (10 k - 100, 100, k).
    k = np.arange(50)
    assert markers.places["sacrum"][:, 0] == pytest.approx(0.01 * k)
    assert markers.places["right_heel"][:, 0] == pytest.approx(0.01 * k + 0.1)
    assert markers.places["left_heel"][:, 2] == pytest.approx(0.001 * k)
    assert markers.times_s[-1] == pytest.approx(49 / 120)


def test_names_that_are_not_there_are_listed_with_those_that_are(recorded: bytes) -> None:
    """One message names each wrong name, each missing role, and the names in the file."""
    with pytest.raises(InputError) as raised:
        read_c3d(recorded, names={"sacrum": "SACR", "right_heal": "Heel R"})
    said = str(raised.value)
    assert "sacrum: 'SACR' is no marker of this file" in said
    assert "right_heal: is nothing that can be named here; did you mean 'right_heel'?" in said
    assert "right_heel, left_heel: are not named" in said
    assert "has: " in said
    assert "Heel L" in said


def test_damaged_files_are_refused_in_words(recorded: bytes) -> None:
    """Cut short anywhere, or with broken parameters, a file is refused or read, and nothing else."""
    dice = np.random.default_rng(3)
    refused = 0
    for turn in range(40):
        content = bytearray(recorded)
        if turn % 2:
            content = content[: int(dice.integers(2, len(content) - 600))]
        else:
            for _ in range(6):
                content[int(dice.integers(2, 1024))] = int(dice.integers(256))
        try:
            read_c3d(bytes(content), names=LABELS)
        except InputError:
            refused += 1
    for broken in (b"", b"\x02P", b"\x02P" + bytes(600), b"no such file" * 100):
        with pytest.raises(InputError, match="is damaged, or no C3D file"):
            read_c3d(broken, names=LABELS)
    assert refused >= 20


def test_a_marker_that_is_hardly_seen_is_refused_by_name() -> None:
    """Where a heel is missing in most frames, the file is refused, and the heel is named."""
    header = ",".join(f"{role}_{axis}" for role in ("sacrum", "right_heel", "left_heel") for axis in "xyz")
    rows = (f"{k / 50},{20 * k},0,900,,,,{20 * k},0,30" for k in range(60))
    with pytest.raises(InputError, match="right_heel: 'right_heel' is missing in more than half"):
        read_table("\n".join([f"time_s,{header}", *rows]), names={})


def test_a_table_of_markers_is_a_c3d_file_in_other_words(recorded: bytes) -> None:
    """The same markers from CSV, in metres, give the same places."""
    times, places = figure_markers(WALKS["sound"], strides=5)
    header = ["time_s", *(f"{role}_{axis}" for role in places for axis in "xyz")]
    rows = np.column_stack([times, *places.values()])
    text = "\n".join([";".join(header), *(";".join(f"{each:.6f}" for each in row) for row in rows)])
    markers = read_table(text, names={}, unit="m")
    assert isinstance(markers, Markers)
    same = read_c3d(recorded, names=LABELS)
    for role, each in same.places.items():
        assert markers.places[role] == pytest.approx(each, abs=1e-4)


def test_a_table_of_events_of_a_film() -> None:
    """Frames at 30 a second become seconds, feet may be letters, toe-offs are kept apart."""
    text = "foot,frame,event\nR,30,contact\nL,45,contact\nR,49,toe_off\nleft,75,\n"
    events = read_table(text, names={}, frames_per_s=30)
    assert isinstance(events, Events)
    assert [each.at_s for each in events.contacts] == [1.0, 1.5, 2.5]
    assert [each.foot for each in events.leavings] == [Foot.RIGHT]
    assert events.resolution_s == pytest.approx(1 / 30)


def test_a_table_of_angles_with_names_of_its_own() -> None:
    """Angles of one knee under a laboratory's own column name, with a reading missing."""
    text = "t,KneeR\n" + "\n".join(f"{k / 50},{'' if k == 7 else k}" for k in range(40))
    angles = read_table(text, names={"time_s": "t", "right_knee_deg": "KneeR"})
    assert isinstance(angles, Angles)
    assert set(angles.angles) == {Foot.RIGHT}
    assert np.isnan(angles.angles[Foot.RIGHT][7])


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "is empty"),
        (
            "foot,time_s\nR,1\nX,2\nL,abc",
            r"(?s)line 4, time_s: 'abc' is no number.*line 3, foot: 'x' is no foot",
        ),
        ("foot,time_s,event\nR,1,jump", "'jump' is not known"),
        ("foot,time_s,foot\nR,1,L", "foot: 'foot' is the name of more than one column"),
        ("time_s,a\n1,2", "right_knee_deg, left_knee_deg: are not named"),
        ("foot,time_s\nR,1,2", "line 2: '3 cells' where the header has 2"),
        ("time_s,right_knee_deg\n" + "\n".join("1,2" for _ in range(30)), "does not run on"),
    ],
)
def test_bad_tables_are_refused_in_words(text: str, says: str) -> None:
    """What is wrong is said with its line."""
    with pytest.raises(InputError, match=says):
        read_table(text, names={})


def test_decimals_may_stand_behind_commas() -> None:
    """A table as spreadsheets of half the world save it says the same as one with points."""
    rows = [("R" if k % 2 else "L", f"{0.553 * k:.3f}") for k in range(9)]
    point = read_table("\n".join(["foot,time_s", *(",".join(row) for row in rows)]), names={})
    comma = [";".join(row).replace(".", ",") for row in rows]
    assert read_table("\n".join(["foot;time_s", *comma]), names={}) == point


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        (
            "R;1,234\nL;1,789",
            "lines 2 to 3, time_s: '1,234 …' may have decimals behind its comma",
        ),
        ("R;0,5\nL;1.1", "line 2, time_s: '0,5' has a comma in a table that has points too"),
        ("R;1.234,5\nL;2.345,5", "'1.234,5 …' has a comma in a table that has points too"),
        ("R;1,234,5\nL;2,5", "line 2, time_s: '1,234,5' is no number"),
    ],
)
def test_commas_that_may_mean_thousands_are_refused(rows: str, says: str) -> None:
    """Whether 1,234 is a little more than one or more than a thousand is not guessed."""
    with pytest.raises(InputError, match=re.escape(says)):
        read_table(f"foot;time_s\n{rows}", names={})


def test_rows_with_one_fault_are_told_once() -> None:
    """A wrong word in every row is one problem with all its lines, and wrong times are told beside it."""
    feet = ["left", "X", "right", "X", "X", "left", "Y", "left", "X"]
    times = [*map(str, range(8)), "NA"]
    text = "\n".join(["foot,time_s", *map(",".join, zip(feet, times, strict=True))])
    with pytest.raises(InputError) as refused:
        read_table(text, names={})
    assert list(map(str, refused.value.problems)) == [
        "line 10, time_s: is missing; give one in every row",
        "lines 3, 5 to 6, 8 and 1 more, foot: 'x …' is no foot; use right or left",
    ]


def test_a_walk_that_turns_back_is_refused() -> None:
    """There and back in one file has no direction of its own."""
    times, places = figure_markers(WALKS["sound"], strides=4)
    back = {role: np.concatenate([each, each[::-1][:100]]) for role, each in places.items()}
    with pytest.raises(InputError, match="cut the file where the walker turns"):
        read_walk(Markers(times_s=np.arange(len(times) + 100) / 100, places=back))
