"""The invented exam in `examples/exam`: `python -m tests.cli.make_exam_example` writes it anew.

Nobody in it exists: candidates and examiners are numbers. Sixty candidates in two circuits, five stations,
an examiner for each in each circuit; six candidates were marked by both examiners of a station, which links
the circuits. Some marks are missing, one station broke down for two candidates, one candidate stayed at home.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

from fabella.assess import Rules, StationsRule, write_blueprint, write_rules
from fabella.exam import Station, blueprint_of, propose_station, with_items, write_station
from fabella.protocol import load_protocol
from tests.cli.running import ROOT

FOLDER = ROOT / "examples" / "exam"
HEADER = "candidate,circuit,station,examiner,item,mark,global,started,finished,timed_out"
CIRCUITS = ("north", "south")
CANDIDATES, DOUBLE = 60, 10  # every tenth candidate is marked twice
_KEPT = {
    "look_and_gait": ("looks_standing", "watches_walk", "measures_girth"),
    "effusion": ("looks_lying", "feels_warmth", "tests_fluid"),
    "ligaments": ("looks_for_sag", "lachman", "collaterals"),
    "menisci": ("deep_squat", "feels_joint_lines", "extends"),
    "patella": ("extensor_mechanism", "tracks_patella", "flexes"),
}
_FIRST, _LAST = ("greets", "asks_pain"), ("watches_face", "tells_findings", "concludes")
_SEVERITY = (0.0, 0.5, -0.2, 0.1, 0.9, -0.4, 0.2, 0.0, -0.1, 0.3)  # logits, one an examiner
_HARDNESS = (-0.4, 0.0, 0.5, 0.2, -0.2)
_BEGIN = datetime(2031, 5, 6, 9, 0, tzinfo=UTC)
_MINUTES = 6


def stations() -> tuple[Station, ...]:
    """Five stations of eight items each."""
    made = []
    for number, (topic, own) in enumerate(_KEPT.items(), start=1):
        short, whole = (
            propose_station(load_protocol(), topic=topic, minutes=minutes, station_id=f"S{number}").station
            for minutes in (5, 15)
        )
        wanted = (*_FIRST, *own, *_LAST)
        items = tuple(item for item in whole.items if item.id in wanted)
        made.append(with_items(short, items, load_protocol()))
    return tuple(made)


def rows(made: tuple[Station, ...], *, seed: int = 5) -> Iterator[str]:
    """The rows of the file of marks."""
    dice = np.random.default_rng(seed)
    ability = dice.normal(1.3, 0.8, size=CANDIDATES)
    ease = dice.normal(0.0, 0.6, size=(len(made), 8))
    for p in range(CANDIDATES):
        c = p % 2
        for s, station in enumerate(made):
            here = ability[p] + dice.normal(scale=0.5) - _HARDNESS[s]
            began = _BEGIN + timedelta(minutes=_MINUTES * ((p // 10) * 5 + (s + p) % 5))
            for circuit in (c, 1 - c) if p % DOUBLE == 0 else (c,):
                examiner = s * 2 + circuit
                who = f"C{p + 1:02},{CIRCUITS[c]},{station.id},E{examiner + 1:02}"
                if p == 58:
                    yield f"{who},,absent,absent,,,"
                    continue
                if c == 1 and s == 4 and 20 <= p < 24:
                    yield f"{who},,station_void,station_void,{began:%H:%M:%S},,"
                    continue
                eta = here - _SEVERITY[examiner] + ease[s]
                # of adjacent categories, as in a Rasch model of a rating scale
                odds = np.exp(np.stack([np.zeros(8), eta + 0.6, 2 * eta], axis=1))
                chosen = (dice.random(8)[:, None] > np.cumsum(odds / odds.sum(axis=1)[:, None], axis=1)).sum(
                    axis=1
                )
                if s == 3:
                    chosen[4] = 2 - chosen[4]  # an item whose anchors were printed the wrong way round
                grade = int(
                    np.clip(
                        np.round(1.3 + 0.9 * here - 0.6 * _SEVERITY[examiner] + dice.normal(scale=0.4)), 0, 4
                    )
                )
                late = bool(dice.random() < 0.05)
                ended = began + timedelta(seconds=300 if late else int(dice.integers(210, 299)))
                graded = "not_observed" if dice.random() < 0.01 else str(grade)
                for i, (item, mark) in enumerate(zip(station.items, chosen.tolist(), strict=True)):
                    word = "not_observed" if dice.random() < 0.01 else "not_done" if mark == 0 else str(mark)
                    word = "not_done" if late and i == 7 else word
                    flag = "yes" if late else ""
                    yield f"{who},{item.id},{word},{graded},{began:%H:%M:%S},{ended:%H:%M:%S},{flag}"


RULES = Rules(
    sem_multiple=0.0,
    stations=StationsRule.PREDICTED,
    most_critical_failed=3,
    least_stations=0.8,
    resamples=2000,
)
PLAN = """\
{
 "format": "fabella.exam-plan/1",
 "candidates": 120,
 "stations": [6, 16],
 "examiners": [1, 2],
 "circuits": [2, 4],
 "spreads": {
  "candidate": 8, "station": 6, "candidate_station": 10, "examiner": 4, "residual": 6, "circuit": 1
 },
 "rule": {"cut": -10, "sems": 0, "follows": true},
 "costs": {"station": 150, "examiner": 400, "hour": 250, "station_min": 9, "longest_h": 8},
 "target": 0.8,
 "exams": 200
}
"""
"""SDs in percent; what things cost is invented too."""


def files() -> dict[str, str]:
    """Every file of the example, by its name."""
    made = stations()
    return {
        **{f"stations/{each.id}.json": write_station(each) for each in made},
        "blueprint.json": write_blueprint(blueprint_of(made)) + "\n",
        "marks.csv": "\n".join([HEADER, *rows(made), ""]),
        "rules.json": write_rules(RULES) + "\n",
        "plan.json": PLAN,
    }


def main(folder: Path = FOLDER) -> None:
    """Write the example."""
    for name, text in files().items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, "utf-8")


if __name__ == "__main__":
    main()
