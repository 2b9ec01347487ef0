"""What is analysed is what was marked."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fabella.assess import Rules, decide, read_marks, score
from fabella.errors import InputError
from fabella.exam import GRADES, Station, blueprint_of, edited, propose_station
from fabella.protocol import load_protocol


def stations() -> tuple[Station, ...]:
    """Two stations as they are proposed."""
    protocol = load_protocol()
    return tuple(
        propose_station(protocol, topic=topic, minutes=8, station_id=topic).station
        for topic in ("ligaments", "patella")
    )


def test_items_keep_their_marks_weights_and_domains() -> None:
    """Every item has its highest mark, weight, domain and whether it is one of safety; the score adds up."""
    made = stations()
    blueprint = blueprint_of(made, weights={"patella": 2.0})
    assert blueprint.station_codes == ("ligaments", "patella")
    assert [each.weight for each in blueprint.stations] == [1.0, 2.0]
    for station, found in zip(made, blueprint.stations, strict=True):
        assert sum(each.weight * each.max_mark for each in found.items) == station.most
        for item, other in zip(station.items, found.items, strict=True):
            assert (other.code, other.max_mark, other.weight) == (item.id, item.most, item.weight)
            assert (other.domain, other.critical) == (item.domain, item.critical)
    assert blueprint.grades.names == tuple(each.name for each in GRADES)
    assert blueprint.grades.borderline == made[0].borderline


def test_one_exam_has_one_scale_of_grades() -> None:
    """A station graded otherwise is named."""
    one, other = stations()
    with pytest.raises(InputError, match="patella"):
        blueprint_of((one, replace(other, borderline=2)))


@pytest.mark.parametrize("steps", [2, 3, 5])
def test_every_scale_that_a_station_may_have_can_be_analysed(steps: int) -> None:
    """Whatever step below the highest is borderline, an exam on that scale gets its pass mark there."""
    dice = np.random.default_rng(steps)
    for borderline in range(steps - 1):
        made = tuple(
            edited(each, {"grades": GRADES[:steps], "borderline": borderline}) for each in stations()
        )
        blueprint = blueprint_of(made)
        rows = []
        for who in range(40):
            grade = int(dice.integers(steps))
            for station in made:
                given = [min(grade + int(dice.integers(2)), item.most) for item in station.items]
                rows += [
                    f"C{who},{station.id},E,{item.id},{mark},{grade}"
                    for item, mark in zip(station.items, given, strict=True)
                ]
        text = "\n".join(["candidate,station,examiner,item,mark,global", *rows, ""])
        marks = read_marks(text, blueprint=blueprint)
        lines = decide(marks, Rules(resamples=200)).pass_mark.lines
        scores, grades = score(marks).of_sheet, marks.grade
        for place, line in enumerate(lines):
            here = marks.station == place
            slope, intercept = np.polyfit(grades[here], scores[here], 1)
            assert line.cut.estimate == pytest.approx(intercept + slope * borderline)
