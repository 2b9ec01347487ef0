"""Which moving drawing belongs to what a test showed: from levels and readings to what was to be seen.

Where a sign has a reading the figure moves by it. Where it has levels only, how far each level moves is our
own judgement, and stands here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

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
    Shifted,
    Shifting,
    Swept,
    Tapped,
    Tracked,
    Turned,
    glide_patella,
    move_knee,
    play,
    shift,
    sweep,
    tap,
    track_patella,
    turn_foot,
)
from fabella.teach.seen import Shown

PIVOT_MM: Final = (0.0, 6.0, 12.0, 16.0)
"""How far the tibia goes back in a pivot shift: none, glide, clunk, gross (judgement)."""
SLIPS_MM: Final = 8.0
"""How far a tibia slips forward in the reversed test or out of a sag that was not measured (judgement)."""
OUT_QUARTERS: Final = (2.0, 3.5)
"""How far a firm and a loose patella is pushed outwards (judgement; the bound is three quarters)."""
IN_QUARTERS: Final = (1.7, 0.6)
"""How far a free and a tight patella is pushed inwards (judgement; the bound is one quarter)."""
JUMPS_MM: Final = (0.0, 5.0, 10.0)
"""How far the patella leaves its groove: none, mild, marked (judgement)."""
LAG_DEG: Final = 15.0
"""How far a knee sinks in a straight leg raise with a lag, whose angle is another sign (judgement)."""
BEYOND_DEG: Final = (2.0, 12.0)
"""How far straight is passed without and with recurvatum where no angle was read (judgement)."""
BLOCKED_DEG: Final = 20.0
"""Where a knee is blocked that was not seen to lie bent (judgement)."""
_MOST_MM, _MOST_OPEN_MM = 25.0, 20.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Test:
    """What a test of one knee showed: its level and reading, and how the leg looks otherwise."""

    side: Side
    shown: Shown
    seen: SeenLeg
    lies_deg: float = 0.0
    """Extension of the knee as it was seen to lie, 0 or negative."""

    @property
    def level(self) -> int:
        """The level, 0 where there is none."""
        return self.shown.level or 0

    @property
    def value(self) -> float:
        """The reading, or how far it goes besides it; 0 where nothing is read."""
        read = self.shown.value if self.shown.travel_mm is None else self.shown.travel_mm
        return read or 0.0


def _glides(test: Played) -> Callable[[Test], Motion]:
    def drawn(each: Test) -> Motion:
        backwards = test is Played.POSTERIOR_DRAWER  # which starts with the step restored, as it is taught
        start = -each.seen.sag_mm if test is Played.ANTERIOR_DRAWER else 0.0
        end = start - each.value if backwards else start + each.value
        end = min(max(end, -_MOST_MM), _MOST_MM)
        return play(
            Play(test=test, side=each.side, from_mm=start, to_mm=end, firm=each.shown.firm, seen=each.seen)
        )

    return drawn


def _opens(test: Played, knee_deg: float) -> Callable[[Test], Motion]:
    return lambda each: play(
        Play(
            test=test,
            side=each.side,
            to_mm=min(max(each.value, 0.0), _MOST_OPEN_MM),
            firm=each.shown.firm,
            knee_deg=knee_deg,
            seen=each.seen,
        )
    )


def _ranges(way: Ranged, to_deg: Callable[[Test], float]) -> Callable[[Test], Motion]:
    return lambda each: move_knee(Ranging(way=way, side=each.side, to_deg=to_deg(each), seen=each.seen))


def _raised(each: Test) -> Motion:
    able, lag = each.level < 2, each.level == 1  # noqa: PLR2004 - unable
    to_deg = LAG_DEG if lag else 0.0
    return move_knee(Ranging(way=Ranged.LIFTS, side=each.side, to_deg=to_deg, able=able, seen=each.seen))


def _blocked(each: Test) -> Motion:
    to_deg = (-each.lies_deg or BLOCKED_DEG) if each.level else 0.0
    return move_knee(
        Ranging(way=Ranged.CATCHES, side=each.side, to_deg=to_deg, springs=each.level == 1, seen=each.seen)
    )


def _shifts(test: Shifted) -> Callable[[Test], Motion]:
    def drawn(each: Test) -> Motion:
        by = PIVOT_MM[each.level] if test is Shifted.PIVOT else (each.seen.sag_mm or SLIPS_MM) * each.level
        sudden = each.level > 1 or test is not Shifted.PIVOT
        return shift(Shifting(test=test, side=each.side, slips_mm=by, sudden=sudden, seen=each.seen))

    return drawn


def _pushed(quarters: tuple[float, float], *, inwards: bool = False) -> Callable[[Test], Motion]:
    return lambda each: glide_patella(
        Glided(side=each.side, quarters=quarters[each.level], inwards=inwards, seen=each.seen)
    )


def _alarmed(each: Test) -> Motion:
    ease = (Ease.CALM, Ease.TENSE, Ease.WARDING)[each.level]
    return glide_patella(Glided(side=each.side, quarters=OUT_QUARTERS[0], ease=ease, seen=each.seen))


MOVED: Final[Mapping[str, Callable[[Test], Motion]]] = MappingProxyType(
    {
        "lachman": _glides(Played.LACHMAN),
        "lachman_end_point": _glides(Played.LACHMAN),
        "anterior_drawer": _glides(Played.ANTERIOR_DRAWER),
        "posterior_drawer": _glides(Played.POSTERIOR_DRAWER),
        "valgus_stress_0": _opens(Played.VALGUS, 0.0),
        "valgus_stress_30": _opens(Played.VALGUS, 30.0),
        "varus_stress_0": _opens(Played.VARUS, 0.0),
        "varus_stress_30": _opens(Played.VARUS, 30.0),
        "effusion_sweep": lambda each: sweep(Swept(side=each.side, wave=each.level, seen=each.seen)),
        "patellar_tap": lambda each: tap(Tapped(side=each.side, taps=each.level > 0, seen=each.seen)),
        "patellar_glide_increased": _pushed(OUT_QUARTERS),
        "patellar_glide_reduced": _pushed(IN_QUARTERS, inwards=True),
        "patellar_apprehension": _alarmed,
        "j_sign": lambda each: track_patella(
            Tracked(side=each.side, jumps_mm=JUMPS_MM[each.level], seen=each.seen)
        ),
        "passive_flexion": _ranges(Ranged.IS_BENT, lambda each: each.value),
        "active_flexion": _ranges(Ranged.BENDS, lambda each: each.value),
        "passive_extension": _ranges(Ranged.STRAIGHTENS, lambda each: -each.value),
        "fixed_flexion": _ranges(Ranged.STRAIGHTENS, lambda each: each.value),
        "recurvatum": _ranges(Ranged.STRAIGHTENS, lambda each: -BEYOND_DEG[each.level]),
        "extensor_lag": _ranges(Ranged.SINKS, lambda each: each.value),
        "straight_leg_raise": _raised,
        "block_to_extension": _blocked,
        "pivot_shift": _shifts(Shifted.PIVOT),
        "reverse_pivot_shift": _shifts(Shifted.REVERSED),
        "quadriceps_active": _shifts(Shifted.MUSCLE),
        "dynamic_posterior_shift": _shifts(Shifted.STRAIGHTENING),
        "dial_30": lambda each: turn_foot(Turned(side=each.side, to_deg=each.value, knee_deg=30.0)),
        "dial_90": lambda each: turn_foot(Turned(side=each.side, to_deg=each.value, knee_deg=90.0)),
        "thigh_foot_angle": lambda each: turn_foot(
            Turned(side=each.side, to_deg=each.value, knee_deg=90.0, from_deg=each.value, held=False)
        ),
    }
)
"""By sign; whatever is not here is felt, heard or seen at rest."""
