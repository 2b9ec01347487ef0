"""What goes together on one knee: signs that show one thing in two ways may not contradict each other.

A matter of geometry and of words, not of chance: what is merely odd stays as it was drawn.
"""

from __future__ import annotations

from collections.abc import Mapping, MutableMapping
from types import MappingProxyType
from typing import Final

_EXCLUSIVE: Final = (
    ("varus_alignment", "valgus_alignment"),
    ("hindfoot_varus", "hindfoot_valgus"),
    ("flat_foot", "high_arch"),
    ("high_riding_patella", "low_riding_patella"),
    ("varus_thrust", "valgus_thrust"),
    ("passive_extension", "recurvatum"),
    ("passive_extension", "standing_recurvatum"),
    ("standing_fixed_flexion", "standing_recurvatum"),
    ("standing_fixed_flexion", "recurvatum"),
)
"""Of these only the first can be seen when both were drawn."""

_NOT: Final = (0, 0)
_THERE: Final = (1, 99)
_WITH: Final[Mapping[tuple[str, int], Mapping[str, tuple[int, int]]]] = MappingProxyType(
    {
        ("palpable_mass", 1): {"mass_size": _THERE},
        ("palpable_mass", 0): {"mass_size": _NOT, "mass_firm_fixed": _NOT},
        ("popliteal_mass", 0): {"mass_softens_bent": _NOT},
        ("lump_noticed", 0): {"lump_growing": _NOT},
        ("swelling_noticed", 0): {"intermittent_swelling": _NOT},
        ("active_cancer", 1): {"cancer_history": _THERE},
        ("previous_patellar_dislocation", 1): {"previous_injury": _THERE},
        ("block_to_extension", 1): {"passive_extension": _THERE},
        ("block_to_extension", 2): {"passive_extension": _THERE},
        ("unable_to_weight_bear", 1): {
            "antalgic_gait": (2, 2),
            "single_leg_squat": (2, 2),
            "deep_squat": (2, 2),
        },
        ("straight_leg_raise", 0): {
            "extensor_lag": _NOT,
            "active_knee_extension": (0, 1),
            "knee_extension_strength": (0, 2),  # 3 of 5 holds the leg against its weight
        },
        ("straight_leg_raise", 1): {"extensor_lag": _THERE},
        ("straight_leg_raise", 2): {"active_knee_extension": (2, 2), "knee_extension_strength": (3, 5)},
        ("hip_rotation_reduced", 0): {"hip_internal_rotation": _NOT, "hip_external_rotation": _NOT},
        ("hip_rotation_reduced", 1): {"hip_internal_rotation": _THERE},
    }
)
"""By a sign and its level: between which levels others then lie."""


def settle(levels: MutableMapping[str, int]) -> None:
    """Move the levels of one knee that cannot be together; signs that are not among them are left out."""
    for (sign, level), bounds in _WITH.items():
        if levels.get(sign) == level:
            for other, (low, high) in bounds.items():
                if other in levels:
                    levels[other] = min(max(levels[other], low), high)
    for first, second in _EXCLUSIVE:
        if levels.get(first) and levels.get(second):
            levels[second] = 0
