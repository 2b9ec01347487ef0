"""What worn knees show, worked out of the tables again, against the counts that the sources print."""

from __future__ import annotations

from statistics import NormalDist

import pytest

from fabella.evidence import Provenance
from fabella.evidence.knowledge import load_knowledge

KNOWLEDGE = load_knowledge()
MILD, ADVANCED = 60 / 105, 45 / 105
"""How many of the knees of Knoop 2012 were of Kellgren and Lawrence's grades 0 to 2, and 3 and 4."""


def there(manifestation: str, level: str, degree: int = 1) -> float:
    """The chance that a worn knee has a manifestation, of itself or as any knee does."""
    rows = {
        cause.parts: cause.at_least[degree - 1]
        for cause in KNOWLEDGE.causes
        if cause.manifestation == manifestation and cause.acuity in ("", "chronic")
    }
    return 1 - (1 - rows[()]) * (1 - rows[(("osteoarthritis", level),)])


def called(sign: str, level: str) -> float:
    """The chance that a sign of one manifestation, slight or not, is called in a worn knee."""
    shown = KNOWLEDGE.indicators[sign]
    ((manifestation, _),) = shown.manifestations
    reach = there(manifestation, level)
    if shown.from_level == 2:
        great = there(manifestation, level, 2)
        reach = great + shown.partial * (reach - great)
    return 1 - (1 - shown.false_alarm) * (1 - shown.hit * reach)


def in_both(sign: str) -> float:
    """The chance among worn knees as they were in Knoop 2012."""
    return MILD * called(sign, "mild") + ADVANCED * called(sign, "advanced")


def test_night_pain_comes_with_the_grade() -> None:
    """19.4, 32.7 and 75.0 % of grades 2, 3 and 4 (Sasaki 2014), grades 3 and 4 as 70 to 56."""
    assert called("night_pain", "mild") == pytest.approx(0.194, abs=0.002)
    assert called("night_pain", "advanced") == pytest.approx((70 * 0.327 + 56 * 0.75) / 126, abs=0.002)


@pytest.mark.parametrize(
    ("sign", "share"),
    [
        ("patellar_grind", 49 / 87),  # Iversen 2016
        ("pain_lateral", 0.69 * 0.43),  # Thompson 2009
        ("varus_thrust", (975 + 82) / (3421 + 440)),  # Sharma 2017, Chang 2013
    ],
)
def test_a_sign_is_as_common_as_printed(sign: str, share: float) -> None:
    """Where one number is published, worn knees show the sign that often."""
    assert in_both(sign) == pytest.approx(share, abs=0.006)


@pytest.mark.parametrize(
    ("sign", "one", "other"),
    [
        ("bony_enlargement", 12 / 105, 0.31),  # Knoop 2012; Parsons 2018 with the specificity of Hart 1991
        ("pain_medial", 0.69 * 0.56 + 0.14 * 0.38, (313 + 175) / 697),  # Thompson 2009; Wood 2007
        ("giving_way", 0.18, 192 / 265),  # Nguyen 2014; before replacement
        ("varus_alignment", 27 / 87, 0.66),  # Iversen 2016; of 966 legs on films
    ],
)
def test_where_series_disagree_the_model_lies_between(sign: str, one: float, other: float) -> None:
    """Neither is picked."""
    assert one < in_both(sign) < other


def test_an_effusion_is_as_common_as_by_ultrasound() -> None:
    """262 of 600 painful worn knees, with odds 1.91 times as high from grade 3 (D'Agostino 2005)."""
    mild, advanced = there("effusion", "mild"), there("effusion", "advanced")
    assert MILD * mild + ADVANCED * advanced == pytest.approx(262 / 600, abs=0.003)
    assert advanced / (1 - advanced) * (1 - mild) / mild == pytest.approx(1.91, abs=0.02)


def test_advanced_wear_is_as_crooked_as_before_replacement() -> None:
    """Mean -3.8° (SD 6.6°) of 710 knees, against the angles that few of 500 healthy ones pass."""
    healthy, worn = NormalDist(-1.3, 2.3), NormalDist(-3.8, 6.6)
    for degree, few in ((1, 0.15), (2, 0.02)):
        share = worn.cdf(healthy.inv_cdf(few))
        assert there("varus_shape", "advanced", degree) == pytest.approx(share, abs=0.002)


def test_most_of_what_tells_a_worn_knee_is_no_judgement() -> None:
    """The signs by which wear is known rest on series."""
    rests = {
        cause.manifestation: cause.provenance
        for cause in KNOWLEDGE.causes
        if cause.parts == (("osteoarthritis", "advanced"),) and cause.acuity in ("", "chronic")
    }
    for manifestation in ("crepitus", "osteophytes", "varus_shape", "effusion", "night_pain", "medial_line"):
        assert rests[manifestation] is Provenance.DERIVED
