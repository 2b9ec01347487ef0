# ruff: noqa: INP001 - a script by itself
"""Play many ideal and random students, and draw how far each comes minute by minute.

python tools/practice_curves.py --patients 1000   (about two seconds of computing a patient)

Writes docs/practice_curves.csv and docs/pictures/practice_curves.svg.
"""

from __future__ import annotations

import argparse
import csv
from collections.abc import Sequence
from pathlib import Path
from statistics import mean

from fabella.record import Setting
from fabella.teach import Reasoner, Recipe, draw_patient
from fabella.teach.curves import WHO, Point, accuracy, curve_points

DOCS = Path(__file__).parents[1] / "docs"
MINUTES = 10
TYPE = 'font-family="serif" font-size="13" fill="#2b2622"'
WIDTH, HEIGHT, LEFT, TOP, RIGHT, BOTTOM = 640, 380, 60, 30, 150, 50


def main() -> None:
    """Play, and write both files."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--patients", type=int, default=1000)
    parser.add_argument("--setting", type=Setting, default=Setting.SPECIALIST_CLINIC)
    wanted = parser.parse_args()
    patients = (draw_patient(Recipe(seed=seed, setting=wanted.setting)) for seed in range(wanted.patients))
    points = list(curve_points(patients, minutes=MINUTES, reasoner=Reasoner()))
    rows = [row(points, who, minute) for who in WHO for minute in range(MINUTES + 1)]
    with (DOCS / "practice_curves.csv").open("w", encoding="utf-8", newline="") as file:
        table = csv.DictWriter(file, fieldnames=list(rows[0]), lineterminator="\n")
        table.writeheader()
        table.writerows(rows)
    (DOCS / "pictures" / "practice_curves.svg").write_text(drawn(rows, wanted.patients), "utf-8")


def row(points: Sequence[Point], who: str, minute: int) -> dict[str, object]:
    """Return one line of the table."""
    own = [each for each in points if (each.who, each.minute) == (who, minute)]
    found = {
        "student": who,
        "minute": minute,
        "patients": len(own),
        "right": round(mean(each.right for each in own), 3),
        "given": round(mean(each.given for each in own), 3),
        "log_bits": round(mean(each.log for each in own), 2),
    }
    for lesion in ("acl_tear", "medial_meniscus_tear"):
        sensitivity, specificity = accuracy(own, lesion)
        found[f"{lesion}_sensitivity"] = "" if sensitivity is None else round(sensitivity, 3)
        found[f"{lesion}_specificity"] = "" if specificity is None else round(specificity, 3)
    return found


def drawn(rows: Sequence[dict[str, object]], patients: int) -> str:
    """Return both curves as SVG: the share of patients whose likeliest lesion is there."""

    def x(minute: float) -> float:
        return LEFT + (WIDTH - LEFT - RIGHT) * minute / MINUTES

    def y(share: float) -> float:
        return HEIGHT - BOTTOM - (HEIGHT - TOP - BOTTOM) * share

    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" {TYPE}>',
        f"<title>Share of {patients} practice patients whose likeliest lesion is there</title>",
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#f7f2e8"/>',
    ]
    for share in (0, 0.2, 0.4, 0.6, 0.8, 1.0):
        parts.append(
            f'<path d="M{LEFT} {y(share):.1f}H{WIDTH - RIGHT}" stroke="#d8cdb8" stroke-width="0.7"/>'
            f'<text x="{LEFT - 8}" y="{y(share) + 4:.1f}" text-anchor="end">{share:.0%}</text>'
        )
    for minute in range(0, MINUTES + 1, 2):
        parts.append(
            f'<text x="{x(minute):.1f}" y="{HEIGHT - BOTTOM + 20}" text-anchor="middle">{minute}</text>'
        )
    parts.append(f'<text x="{x(MINUTES / 2):.1f}" y="{HEIGHT - 8}" text-anchor="middle">minutes</text>')
    for who, dashes in zip(WHO, ("", ' stroke-dasharray="6 4"'), strict=True):
        own = [(x(int(str(r["minute"]))), y(float(str(r["right"])))) for r in rows if r["student"] == who]
        path = " ".join(f"{a:.1f} {b:.1f}" for a, b in own)
        parts.append(f'<path d="M{path}" fill="none" stroke="#8a2f1d" stroke-width="1.8"{dashes}/>')
        name = "most bits a minute" if who == "ideal" else "anything at random"
        parts.append(f'<text x="{own[-1][0] + 8:.1f}" y="{own[-1][1] + 4:.1f}">{name}</text>')
    return "\n".join([*parts, "</svg>"]) + "\n"


if __name__ == "__main__":
    main()
