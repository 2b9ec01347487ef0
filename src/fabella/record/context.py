"""Who is examined, and what brought them: the setting in which the findings were made."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from fabella.anatomy import Side
from fabella.record.totals import Procedure


class Sex(StrEnum):
    """The sex that matters to the body examined."""

    FEMALE = "female"
    MALE = "male"


class Setting(StrEnum):
    """Where the patient is seen; it decides which lesions are common."""

    PRIMARY_CARE = "primary_care"
    EMERGENCY = "emergency"
    SPORTS_CLINIC = "sports_clinic"
    SPECIALIST_CLINIC = "specialist_clinic"


class Acuity(StrEnum):
    """How fresh the complaint is, as the examiner judges it."""

    ACUTE = "acute"
    SUBACUTE = "subacute"
    CHRONIC = "chronic"


class Mechanism(StrEnum):
    """How it came about; the one that fits best."""

    INSIDIOUS = "insidious"
    OVERUSE = "overuse"
    TWIST = "twist"
    VALGUS_FORCE = "valgus_force"
    VARUS_FORCE = "varus_force"
    HYPEREXTENSION = "hyperextension"
    DIRECT_BLOW = "direct_blow"
    FALL_ON_KNEE = "fall_on_knee"
    FORCED_QUADRICEPS = "forced_quadriceps"
    SQUAT_OR_KNEEL = "squat_or_kneel"
    HIGH_ENERGY = "high_energy"
    MINOR_FALL = "minor_fall"
    PENETRATING = "penetrating"


NO_COMPLAINT = "none"
"""Written in place of the knees complained of when neither is; an empty list says that it is unknown."""
NO_INJURY = (Mechanism.INSIDIOUS, Mechanism.OVERUSE)
"""The mechanisms by which nothing happened: it came by itself."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Patient:
    """The person examined; whatever is None is unknown.

    ``age_years`` is 0..120, with decimals for small children;
    ``label`` is a local or invented one, never required.
    """

    age_years: float | None = None
    sex: Sex | None = None
    label: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Context:
    """What brought the patient; whatever is None is unknown.

    ``onset_days`` counts back from the examination (0 = today); ``mechanism_words`` are the patient's own;
    ``complaint`` names the knee or knees complained of and is empty when nobody complains, as at a fitness
    or screening examination;
    ``procedure`` is the latest thing that was done before this examination.
    """

    setting: Setting | None = None
    acuity: Acuity | None = None
    onset_days: float | None = None
    mechanism: Mechanism | None = None
    mechanism_words: str | None = None
    complaint: tuple[Side, ...] | None = None
    procedure: Procedure | None = None

    @property
    def complained_of(self) -> tuple[Side, ...]:
        """The knees complained of; empty both when neither is and when that is unknown."""
        return self.complaint or ()

    @property
    def without_complaint(self) -> bool:
        """Whether it is known that neither knee is complained of."""
        return self.complaint == ()
