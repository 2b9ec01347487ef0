"""Identities between the angles of a leg in the frontal plane; valgus positive, varus negative throughout."""

from __future__ import annotations

from dataclasses import dataclass

from fabella.measure.checks import within

_RANGE_DEG = (60.0, 120.0)  # joint angles are measured against a shaft or axis and lie near 90
_COLUMNS = ("varus", "neutral", "valgus")
_ROWS = ("apex distal", "neutral", "apex proximal")
_ROMAN = ("I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX")


def valgus_positive_deg(*, varus_positive_deg: float) -> float:
    """Return an angle in this package's convention from a source that counts varus as positive."""
    return -varus_positive_deg


def arithmetic_hka_deg(*, mpta_deg: float, ldfa_deg: float) -> float:
    """Return the arithmetic hip-knee-ankle angle: what the bones alone would give.

    Parameters
    ----------
    mpta_deg, ldfa_deg
        Medial proximal tibial and mechanical lateral distal femoral angle, 60 to 120 degrees.

    Raises
    ------
    InputError
        When an angle is outside its range.

    Notes
    -----
    aHKA = MPTA - LDFA. Source: MacDessi 2021 Bone Joint J 103-B:329-337.
    """
    within(*_RANGE_DEG, mpta_deg=mpta_deg, ldfa_deg=ldfa_deg)
    return mpta_deg - ldfa_deg


def joint_line_obliquity_deg(*, mpta_deg: float, ldfa_deg: float) -> float:
    """Return the joint line obliquity: below 180 degrees the line's apex points down, above it up.

    Parameters
    ----------
    mpta_deg, ldfa_deg
        Medial proximal tibial and mechanical lateral distal femoral angle, 60 to 120 degrees.

    Raises
    ------
    InputError
        When an angle is outside its range.

    Notes
    -----
    JLO = MPTA + LDFA. Source: MacDessi 2021 Bone Joint J 103-B:329-337.
    """
    within(*_RANGE_DEG, mpta_deg=mpta_deg, ldfa_deg=ldfa_deg)
    return mpta_deg + ldfa_deg


def mechanical_hka_deg(*, arithmetic_hka_deg: float, joint_line_convergence_deg: float) -> float:
    """Return the mechanical hip-knee-ankle angle in degrees: bones plus what the joint space adds.

    Notes
    -----
    mHKA = aHKA + JLCA; with parallel joint lines the two are equal.
    Source: MacDessi 2021 Bone Jt Open 2:351-357.
    """
    return arithmetic_hka_deg + joint_line_convergence_deg


def joint_line_convergence_deg(*, mechanical_hka_deg: float, arithmetic_hka_deg: float) -> float:
    """Return the joint line convergence angle in degrees that the mechanical and arithmetic angles imply."""
    return mechanical_hka_deg - arithmetic_hka_deg


def tibiofemoral_anatomical_deg(*, mechanical_deg: float, femoral_axes_deg: float) -> float:
    """Return the anatomical tibiofemoral angle (the one a goniometer sees) from the mechanical one.

    Parameters
    ----------
    mechanical_deg
        Mechanical tibiofemoral angle in degrees, valgus positive.
    femoral_axes_deg
        Angle between the anatomical and the mechanical axis of the femur in degrees, usually 5 to 6.

    Notes
    -----
    aTFA = mTFA + AMA. Source: Jamali 2017 J Orthop Surg Res 12:77.
    """
    return mechanical_deg + femoral_axes_deg


def lateral_distal_femur_anatomical_deg(*, mechanical_deg: float, femoral_axes_deg: float) -> float:
    """Return the anatomical lateral distal femoral angle in degrees from the mechanical one.

    Notes
    -----
    aLDFA = mLDFA - AMA. Source: Jamali 2017 J Orthop Surg Res 12:77.
    """
    return mechanical_deg - femoral_axes_deg


@dataclass(frozen=True, slots=True, kw_only=True)
class CoronalType:
    """One of the nine coronal types, and how many degrees would move the knee into a neighbouring one."""

    type: str
    alignment: str
    joint_line: str
    to_boundary_deg: float


def coronal_type(
    *,
    arithmetic_hka_deg: float,
    joint_line_obliquity_deg: float,
    neutral_hka_deg: float = 2.0,
    neutral_obliquity_deg: float = 3.0,
) -> CoronalType:
    """Return the coronal type of one knee (I to IX); a group's mean must never be typed.

    Parameters
    ----------
    arithmetic_hka_deg, joint_line_obliquity_deg
        From :func:`arithmetic_hka_deg` and :func:`joint_line_obliquity_deg`.
    neutral_hka_deg, neutral_obliquity_deg
        Half-widths of the neutral bands about 0 and 180 degrees, ends included; 0 or more.

    Raises
    ------
    InputError
        When a half-width is negative.

    Notes
    -----
    Source: MacDessi 2021 Bone Joint J 103-B:329-337 (half-widths 2 and 3 from memory); 3 degrees for both was
    proposed for Asian knees in Bone Jt Open 2022;3. Radiograph and CT agreed on the type of 60.8 % of knees
    (Itou 2025 Arch Orthop Trauma Surg 145:160), hence the distance to the nearest boundary.
    """
    within(0, 90, neutral_hka_deg=neutral_hka_deg, neutral_obliquity_deg=neutral_obliquity_deg)
    tilt = joint_line_obliquity_deg - 180
    column = 1 + (arithmetic_hka_deg > neutral_hka_deg) - (arithmetic_hka_deg < -neutral_hka_deg)
    row = 1 + (tilt > neutral_obliquity_deg) - (tilt < -neutral_obliquity_deg)
    return CoronalType(
        type=_ROMAN[3 * row + column],
        alignment=_COLUMNS[column],
        joint_line=_ROWS[row],
        to_boundary_deg=min(
            abs(abs(arithmetic_hka_deg) - neutral_hka_deg),
            abs(abs(tilt) - neutral_obliquity_deg),
        ),
    )
