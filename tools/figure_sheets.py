# ruff: noqa: INP001 - a script by itself
"""Draw the living figure in all its states beside each other, to be looked at after every change to it.

python tools/figure_sheets.py

Writes figure_seen.svg, figure_walking.svg and figure_tested.svg to docs/pictures.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from html import escape
from pathlib import Path

from fabella.anatomy import Side
from fabella.figure import (
    Ease,
    Glided,
    Motion,
    Play,
    Played,
    Ranged,
    Ranging,
    SeenLeg,
    SeenLegs,
    Shifted,
    Shifting,
    Swept,
    Tapped,
    Thrust,
    Turned,
    View,
    Walk,
    WalkingLeg,
    glide_patella,
    living_figure,
    motion_svg,
    move_knee,
    play,
    shift,
    sweep,
    tap,
    turn_foot,
    walk,
)

PICTURES = Path(__file__).parents[1] / "docs" / "pictures"
PAPER, TYPE = "#f6f0e2", 'font-family="Georgia,serif" font-size="11" fill="#2b2622"'
GAP, LINE = 8, 18
Cell = tuple[str, str]


def main() -> None:
    """Write the three sheets."""
    for name, cells, columns, wide in (
        ("figure_seen", seen(), 6, 150),
        ("figure_walking", walking(), 6, 150),
        ("figure_tested", tested(), 4, 230),
    ):
        (PICTURES / f"{name}.svg").write_text(sheet(cells, columns=columns, wide=wide), "utf-8")


def sheet(cells: Sequence[Cell], *, columns: int, wide: int) -> str:
    """Return drawings in rows with what they show beneath them."""
    body, y = [], GAP
    for start in range(0, len(cells), columns):
        row = cells[start : start + columns]
        tall = max(_height(svg, wide) for _, svg in row)
        for column, (said, svg) in enumerate(row):
            x = GAP + column * (wide + GAP)
            body.append(_placed(svg, x=x, y=y + tall - _height(svg, wide), wide=wide))
            body.append(
                f'<text x="{x + wide / 2}" y="{y + tall + 12}" text-anchor="middle">{escape(said)}</text>'
            )
        y += tall + LINE + GAP
    width = GAP + columns * (wide + GAP)
    size = f'viewBox="0 0 {width} {y}" width="{width}" height="{y}"'
    ground = f'<rect width="{width}" height="{y}" fill="{PAPER}"/>'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size} {TYPE}>{ground}{"".join(body)}</svg>'


def _height(svg: str, wide: int) -> int:
    width, height = map(int, re.findall(r'viewBox="0 0 (\d+) (\d+)"', svg)[0])
    return round(wide * height / width)


def _placed(svg: str, *, x: int, y: int, wide: int) -> str:
    """A drawing at its place, its own size and ground left out."""
    svg = re.sub(r'( width="\d+" height="\d+")(?= role)', "", svg, count=1)
    svg = re.sub(r'<rect width="\d+" height="\d+" fill="#f6f0e2"/>', "", svg, count=1)
    return svg.replace("<svg ", f'<svg x="{x}" y="{y}" width="{wide}" height="{_height(svg, wide)}" ', 1)


def seen() -> list[Cell]:
    """Legs at rest: what is named is on the right leg, which stands on the left of the page."""
    sound = SeenLeg()

    def legs(view: View, right: SeenLeg, left: SeenLeg = sound) -> str:
        return living_figure(SeenLegs(right=right, left=left), view, alone=True)

    front, back, side = View.FRONT, View.BACK, View.RIGHT
    bent = View.RIGHT_ANGLE_RIGHT
    turned_in = SeenLeg(patella_turned_in=True)
    flat = SeenLeg(flat_foot=True, heel_deg=12)
    return [
        ("nothing to see", legs(front, sound)),
        ("varus", legs(front, SeenLeg(alignment_deg=-4))),
        ("valgus", legs(front, SeenLeg(alignment_deg=16))),
        ("slight fluid", legs(front, SeenLeg(fullness=1))),
        ("much fluid", legs(front, SeenLeg(fullness=3))),
        ("wasted thigh", legs(front, SeenLeg(wasting=2))),
        ("patellae turned in", legs(front, turned_in, turned_in)),
        ("scar; wound", legs(front, SeenLeg(scar=True), SeenLeg(wound=True))),
        ("bruise; redness", legs(front, SeenLeg(bruise=True), SeenLeg(redness=2))),
        ("flat foot; high arch", legs(front, SeenLeg(flat_foot=True), SeenLeg(high_arch=True))),
        ("flat feet, from behind", legs(back, flat, flat)),
        ("heel inwards (right)", legs(back, SeenLeg(heel_deg=-6))),
        ("bent", legs(side, SeenLeg(extension_deg=-15))),
        ("beyond straight", legs(side, SeenLeg(extension_deg=10))),
        ("fluid", legs(side, SeenLeg(fullness=2))),
        ("swelling behind", legs(side, SeenLeg(behind=True))),
        ("patella out, lying", legs(View.ABOVE, SeenLeg(patella_out=True))),
        ("out of line, lying", legs(View.ABOVE, SeenLeg(deformed=True))),
        ("no sag", legs(bent, sound)),
        ("sag of 10 mm", legs(bent, SeenLeg(sag_mm=10))),
        ("sag of the far leg", legs(bent, sound, SeenLeg(sag_mm=10))),
        ("lying straight", legs(View.LYING_RIGHT, sound)),
        ("lacks 12° lying", legs(View.LYING_RIGHT, SeenLeg(extension_deg=-12))),
        ("kept half bent", legs(View.LYING_RIGHT, SeenLeg(held_flexed=True))),
    ]


def walking() -> list[Cell]:
    """Six moments of a stride, evenly through it from the contact of the right foot."""
    sore = Walk(right=WalkingLeg(stance_share_pct=52, limp=2), left=WalkingLeg(stance_share_pct=66))
    rows = [
        ("usual", Walk(), View.RIGHT),
        ("short stance right", sore, View.RIGHT),
        ("stiff right", Walk(right=WalkingLeg(peak_flexion_deg=40, stiff=True)), View.RIGHT),
        ("varus thrust right", Walk(right=WalkingLeg(thrust=Thrust.VARUS)), View.FRONT),
        ("drops left; foot out 28°", Walk(right=WalkingLeg(drops=True, foot_out_deg=28)), View.BACK),
    ]
    cells = []
    for said, how, view in rows:
        motion = walk(how, view)
        for at in (0, 12, 30, 50, 62, 80):
            key = min(range(len(motion.keys_pct)), key=lambda each: abs(motion.keys_pct[each] - at))
            cells.append(
                (f"{said}, {round(motion.keys_pct[key])} %", motion_svg(motion, key=key, alone=True))
            )
    return cells


def tested() -> list[Cell]:
    """Each test in two moments."""
    right = Side.RIGHT
    motions: list[tuple[str, Motion, int, int]] = [
        ("Lachman, 9 mm", play(Play(test=Played.LACHMAN, side=right, to_mm=9)), 0, 1),
        ("posterior drawer, 10 mm", play(Play(test=Played.POSTERIOR_DRAWER, side=right, to_mm=-10)), 0, 1),
        ("valgus stress, 8 mm", play(Play(test=Played.VALGUS, side=right, to_mm=8)), 0, 1),
        ("sweep, large wave", sweep(Swept(side=right, wave=2)), 3, 7),
        ("patellar tap", tap(Tapped(side=right, taps=True)), 1, 3),
        ("patella pushed outwards", glide_patella(Glided(side=right, quarters=3.5)), 0, 2),
        ("alarm", glide_patella(Glided(side=right, quarters=2, ease=Ease.WARDING)), 2, 3),
        ("pivot shift, 12 mm", shift(Shifting(test=Shifted.PIVOT, side=right, slips_mm=12)), 2, 3),
        ("pulled out of a sag", shift(Shifting(test=Shifted.MUSCLE, side=right, slips_mm=10)), 0, 2),
        ("bends to 120°", move_knee(Ranging(way=Ranged.BENDS, side=right, to_deg=120)), 0, -1),
        ("lacks 12°", move_knee(Ranging(way=Ranged.STRAIGHTENS, side=right, to_deg=12)), 0, -1),
        ("foot turned out 45°", turn_foot(Turned(side=right, to_deg=45, knee_deg=30)), 0, -1),
    ]
    return [
        (f"{said}: {when}", motion_svg(motion, key=key % len(motion.keys_pct), alone=True))
        for said, motion, first, last in motions
        for when, key in (("before", first), ("after", last))
    ]


if __name__ == "__main__":
    main()
