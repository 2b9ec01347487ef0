"""Whom a knee belongs to and why it is being examined: what the prior depends on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from fabella.evidence.facts import BaseRate

AGE_BANDS_YEARS = (5.0, 10.0, 18.0, 30.0, 40.0, 60.0)
"""Upper edges of the age bands 0-4, 5-9, 10-17, 18-29, 30-39, 40-59; the last band is open."""
PROSTHESIS = "knee_prosthesis"
"""The answer that a knee is a prosthesis."""
_SHOWN_BY_A_PROSTHESIS = (PROSTHESIS, "previous_surgery", "scar")
INFECTED_AS_A_PROSTHESIS = frozenset(("septic_arthritis",))
"""What an infection of a knee with any prosthesis, a partial one too, is not told as."""
_RISKS_OF_A_CLOT = frozenset(("major_surgery_12_weeks", "immobilised_recently"))
_CLOT_WEEKS = 12
"""How long an operation by itself makes a clot likelier, so that being told of it says nothing more."""
_SILENT_ONCE_MENDED = frozenset(("previous_patellar_dislocation",))
"""An earlier injury or operation still speaks: knees stiffen after them."""
_VOID_IN_A_PROSTHESIS = (
    *("lachman", "lachman_end_point", "lachman_prone", "lever_sign", "pivot_shift", "anteromedial_drawer"),
    *("mcmurray", "mcmurray_medial", "mcmurray_lateral", "apley", "ege", "steinmann_1", "payr", "duck_walk"),
    *("thessaly_5", "thessaly_20", "thessaly_medial", "thessaly_lateral", "medial_lateral_grind"),
    "lateral_snap",
)
"""Tests of the anterior cruciate and the menisci, which a total replacement takes away (common practice).

The drawer stays: it tests how steady the prosthesis is.
"""
_TISSUES = {
    **dict.fromkeys(("fracture_fixation", "osteotomy"), "bone"),
    "acl_reconstruction": "anterior_cruciate",
    "ligament_reconstruction": "ligament",
}
"""What an operation set, cut or replaced, where that leaves more, or for longer, than any operation does."""
WIDER = {"anterior_cruciate": "ligament"}
"""What holds of every ligament that was reconstructed holds of this one."""
HEALS_WEEKS = 26
"""How long a knee heals; what an operation leaves for longer has periods of its own (judgement)."""
UNHURT = ("insidious", "overuse")
"""The mechanisms that are no injury."""
_BEFORE_AN_INJURY = frozenset(("pain_before_injury",))
"""What was there before an injury: it says nothing where there was none, however it is answered."""
_SILENT_IN_A_PROSTHESIS = frozenset((*_SHOWN_BY_A_PROSTHESIS, *_VOID_IN_A_PROSTHESIS))


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """The circumstances of one knee; None means unknown.

    ``setting``: "primary_care", "emergency", "sports_clinic" or "specialist_clinic"; ``acuity``: "acute",
    "subacute" or "chronic"; ``sex``: "female" or "male"; ``mechanism``: a key of the mechanism table;
    ``hurt_today``: whether that was an injury of less than a day;
    ``symptomatic``: whether the patient complains of this knee; ``replaced``: whether it is a total
    prosthesis; ``partly_replaced``: whether a part of it is one; ``operated_lately``: whether it was operated
    on within a year; ``healing``: while something is usual after an operation, the last week of the period
    in which it is; ``operation``: which operation that was, whatever it was for; ``mended``: the operation
    that was done since the trouble began; ``reviewed``: share of such knees that only come for a review.
    """

    setting: str | None = None
    acuity: str | None = None
    age_years: float | None = None
    sex: str | None = None
    mechanism: str | None = None
    hurt_today: bool = False
    symptomatic: bool = True
    replaced: bool = False
    partly_replaced: bool = False
    operated_lately: bool = False
    healing: int | None = None
    operation: str = ""
    mended: str = ""
    reviewed: float = 0.0

    @property
    def is_sound(self) -> bool:
        """Whether it shows less than knees complained of: nobody complains of it, and it does not heal."""
        return not self.symptomatic and not self.heals

    @property
    def heals(self) -> bool:
        """Whether the whole knee still heals after an operation."""
        return self.healing is not None and self.healing <= HEALS_WEEKS

    @property
    def tissue(self) -> str:
        """Return what `tissue_of` does while it shows that this was operated on, "" otherwise."""
        return "" if self.healing is None else tissue_of(self.operation)

    @property
    def void(self) -> tuple[str, ...]:
        """Return the signs that tell nothing here, as what they test is not there."""
        return _VOID_IN_A_PROSTHESIS if self.replaced else ()

    @property
    def silent(self) -> frozenset[str]:
        """Return the signs that say nothing here: void ones, and what these circumstances show anyway."""
        clot = _RISKS_OF_A_CLOT if self.operated_within(_CLOT_WEEKS) else frozenset[str]()
        before = _BEFORE_AN_INJURY if self.mechanism in UNHURT else frozenset[str]()
        if self.replaced:
            return _SILENT_IN_A_PROSTHESIS | clot | before
        return (_SILENT_ONCE_MENDED if self.mended else frozenset[str]()) | clot | before

    def operated_within(self, weeks: int | None) -> bool:
        """Say whether it was operated on lately, and still heals as in these weeks; None for any time."""
        if weeks is None:
            return self.operated_lately
        return self.operated_lately and self.healing is not None and self.healing <= weeks

    @property
    def age_band(self) -> int | None:
        """Return the position of the age band (0 to 6), or None when the age is unknown."""
        if self.age_years is None:
            return None
        return sum(self.age_years >= edge for edge in AGE_BANDS_YEARS)


def tissue_of(operation: str) -> str:
    """Return "bone", "anterior_cruciate" or "ligament" when an operation sets, cuts or replaces it, or ""."""
    return _TISSUES.get(operation, "")


_ACUTE = {
    "emergency": ("acute_emergency",),
    "primary_care": ("acute_primary_care",),
    "sports_clinic": ("acute_clinic",),
    "specialist_clinic": ("acute_clinic",),
    None: ("acute_emergency", "acute_primary_care", "acute_clinic"),
}
_CHRONIC = {
    "primary_care": ("chronic_primary_care",),
    "emergency": ("acute_emergency", "chronic_primary_care", "chronic_clinic"),
    "sports_clinic": ("chronic_clinic",),
    "specialist_clinic": ("chronic_clinic",),
    None: ("chronic_primary_care", "chronic_clinic"),
}


def rate_columns(setting: Setting) -> tuple[str, ...]:
    """Return the columns of the prevalence table to average for these circumstances."""
    if not setting.symptomatic:
        return ("background",)
    if setting.acuity == "acute":
        return _ACUTE[setting.setting]
    if setting.acuity == "chronic":
        return _CHRONIC[setting.setting]
    return _ACUTE[setting.setting] + _CHRONIC[setting.setting]


REFERENCES: Mapping[str, Setting] = MappingProxyType(
    {
        "acute_emergency": Setting(setting="emergency", acuity="acute", age_years=30),
        "acute_primary_care": Setting(setting="primary_care", acuity="acute", age_years=35),
        "any_clinic": Setting(setting="specialist_clinic", acuity=None, age_years=30),
        "acute_clinic": Setting(setting="specialist_clinic", acuity="acute", age_years=30),
        "chronic_primary_care": Setting(setting="primary_care", acuity="chronic", age_years=45),
        "chronic_clinic": Setting(setting="specialist_clinic", acuity="chronic", age_years=35),
        "older_clinic": Setting(setting="primary_care", acuity="chronic", age_years=65),
    }
)
"""The populations in which published accuracy and company of lesions are fitted."""


def rate_of(row: BaseRate, setting: Setting) -> float:
    """Return the prevalence of one lesion here: after age and sex, of a prosthesis, or of what was mended."""
    if setting.mended in row.mended:
        return row.mended[setting.mended].rate
    own = row.replaced and (setting.replaced or (setting.partly_replaced and row.only_replaced))
    columns = rate_columns(setting)
    rate = float(np.mean([row.replaced[name].rate if own else row.rates[name] for name in columns]))
    odds = rate / (1 - rate)
    if setting.age_band is not None and not own:
        odds *= row.odds_by_age[setting.age_band]
    if setting.sex is not None and not own:
        women = row.women_to_men(setting.age_band) ** 0.5
        odds *= women if setting.sex == "female" else 1 / women
    after = row.after_operation
    if after is not None and setting.operated_within(after.within_weeks):
        odds *= after.odds
    return odds / (1 + odds)


def split_of(row: BaseRate, setting: Setting) -> NDArray[np.float64]:
    """Return the shares of the levels of one lesion at this age and acuity."""
    acute, chronic = map(np.array, row.splits(setting.age_band))
    if setting.acuity == "acute":
        return acute
    return chronic if setting.acuity == "chronic" else (acute + chronic) / 2
