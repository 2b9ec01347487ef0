"""Made-up exams for tests: people, stations and marks drawn by seeded dice."""

from collections.abc import Sequence

import numpy as np

from fabella.assess import Blueprint, Item, Marks, Station, read_marks

DOMAINS = ("communication", "safety", "technique")
HEADER = "candidate,circuit,station,examiner,item,mark,global"


def made_blueprint(*, stations: int = 6, items: int = 8) -> Blueprint:
    """Return stations of items worth 2 marks in three domains; the last item of each is critical."""
    return Blueprint(
        stations=tuple(
            Station(
                code=f"S{s + 1:02}",
                items=tuple(
                    Item(code=f"I{i + 1:02}", max_mark=2, domain=DOMAINS[i % 3], critical=i == items - 1)
                    for i in range(items)
                ),
            )
            for s in range(stations)
        )
    )


def made_rows(blueprint: Blueprint, *, candidates: int = 60, circuits: int = 3, seed: int = 1) -> list[str]:
    """Return the rows of a file of marks without its header; one examiner a station and circuit."""
    dice = np.random.default_rng(seed)
    ability = dice.normal(size=candidates)
    rows = []
    for s, station in enumerate(blueprint.stations):
        hardness = dice.normal(scale=0.4)
        severity = dice.normal(scale=0.3, size=circuits)
        ease = dice.normal(scale=0.5, size=len(station.items))
        here = ability + dice.normal(scale=0.8, size=candidates)
        for p in range(candidates):
            c = p % circuits
            eta = 0.8 + here[p] - hardness - severity[c] + ease
            marks = dice.binomial(2, 1 / (1 + np.exp(-eta)))
            grade = int(np.clip(np.round(1.9 + 0.8 * here[p] - severity[c] + dice.normal(scale=0.4)), 0, 4))
            examiner = f"E{s * circuits + c + 1:02}"
            who = f"C{p + 1:04},{'ABCDEFGH'[c]},{station.code},{examiner}"
            rows += [
                f"{who},{item.code},{mark},{grade}" for item, mark in zip(station.items, marks, strict=True)
            ]
    return rows


def made_marks(
    *, stations: int = 6, items: int = 8, candidates: int = 60, circuits: int = 3, seed: int = 1
) -> Marks:
    """Return a made-up exam."""
    blueprint = made_blueprint(stations=stations, items=items)
    rows = made_rows(blueprint, candidates=candidates, circuits=circuits, seed=seed)
    return read_rows(rows, blueprint)


def read_rows(rows: Sequence[str], blueprint: Blueprint) -> Marks:
    """Return the marks in some rows of CSV."""
    return read_marks("\n".join([HEADER, *rows, ""]), blueprint=blueprint)
