"""What is analysed is what was marked."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fabella.errors import InputError
from fabella.exam import GRADES, Station, blueprint_of, propose_station
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
