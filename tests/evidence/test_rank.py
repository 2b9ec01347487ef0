import dataclasses
import itertools
from typing import Any

import pytest

from fabella.errors import EvidenceError
from fabella.evidence import (
    RECALLED,
    Accuracy,
    Anaesthesia,
    Caution,
    Counts2x2,
    Design,
    Edition,
    Estimate,
    EvidenceKind,
    LikelihoodRatio,
    Provenance,
    Source,
    StudyAcuity,
    StudySetting,
    rank,
)

Row = dict[str, Any]


def row(source: Source, key: str = "usual_2000", **given: Any) -> Accuracy:
    """A made-up row: 80/80 in 100 knees, one hospital study, acute, awake."""
    if "kind" in given:
        source = dataclasses.replace(source, kind=given.pop("kind"))
    source = dataclasses.replace(source, key=key, remark="odd")
    stated: Row = {"source": source, "provenance": Provenance.PUBLISHED}
    usual: Row = {
        "sign_id": "lachman",
        "sign_name": "Lachman test",
        "finding_level": "positive",
        "target": "acl_tear",
        "population": "",
        "setting": StudySetting.SPECIALIST_CLINIC,
        "acuity": StudyAcuity.ACUTE,
        "anaesthesia": Anaesthesia.AWAKE,
        "reference_standard": "arthroscopy",
        "sensitivity": Estimate(value=0.8, **stated),
        "specificity": Estimate(value=0.8, **stated),
        "likelihood_ratio": None,
        "counts": None,
        "studies": 1,
        "knees": 100,
        "design": Design.PRIMARY,
    }
    return Accuracy(**stated, **{**usual, **given})


@pytest.mark.parametrize(
    ("worse", "reason"),
    [
        ({"caution": Caution.OUTLIER, "design": Design.OWN_POOLED}, "outlier: odd"),
        ({"caution": Caution.INVENTOR, "knees": 10_000}, "series of the test's inventor: odd"),
        ({"caution": Caution.HEALTHY_CONTROLS}, "compared with healthy volunteers: odd"),
        ({"specificity": None, "design": Design.BIVARIATE_POOLED}, "only part of the accuracy"),
        ({"sensitivity": None, "specificity": None}, "no accuracy printed"),
        ({"anaesthesia": Anaesthesia.ANAESTHETISED, "design": Design.POOLED}, "examined under anaesthesia"),
        ({"setting": StudySetting.PRIMARY_CARE, "design": Design.POOLED}, "another setting (primary care)"),
        ({"acuity": StudyAcuity.CHRONIC, "design": Design.POOLED}, "another acuity (chronic)"),
        ({"recalled": True, "design": Design.POOLED}, RECALLED),
        ({"kind": EvidenceKind.NARRATIVE, "design": Design.POOLED}, "read at second hand"),
        ({"key": "nobody", "knees": 10_000}, "paper cannot be found again"),
        ({"independent": False, "knees": 10_000}, "the same knees as in another row"),
        ({"knees": 99}, "fewer knees (99)"),
        ({"knees": None}, "fewer knees (not stated)"),
        ({"key": "older_1999"}, "older (1999)"),
    ],
)
def test_each_criterion_puts_a_row_below_and_says_why(worse: Row, reason: str, source: Source) -> None:
    """A row that is worse in one respect stands below the usual one, whatever lesser merits it has."""
    usual, other = row(source), row(source, **{"key": "usual_2000", **worse})
    result = rank([other, usual], setting=StudySetting.SPECIALIST_CLINIC, acuity=StudyAcuity.ACUTE)
    assert [each.accuracy for each in result.ordered] == [usual, other]
    assert [each.reason for each in result.ordered] == ["first in order", reason]
    assert result.chosen is usual


def test_designs_come_in_their_order(source: Source) -> None:
    """Pooled by us from counts, published bivariate pooling, published pooling, single study."""
    rows = [row(source, design=design) for design in Design]
    for shuffled in itertools.permutations(rows):
        assert [each.accuracy.design for each in rank(shuffled).ordered] == list(Design)


def test_the_largest_single_study_comes_first(source: Source) -> None:
    """Among single studies the number of knees decides, whatever order they come in."""
    rows = [row(source, key=f"a_{2000 + knees}", knees=knees) for knees in (50, 400, 100)]
    assert [each.accuracy.knees for each in rank(rows).ordered] == [400, 100, 50]


def test_likelihood_ratios_stand_in_for_an_accuracy(source: Source) -> None:
    """A source that states both ratios is whole; of equal designs, the one with an accuracy comes first."""
    stated: Row = {"source": source, "provenance": Provenance.PUBLISHED}
    both = LikelihoodRatio(
        positive=Estimate(value=5, **stated), negative=Estimate(value=0.2, **stated), **stated
    )
    half = LikelihoodRatio(positive=Estimate(value=5, **stated), negative=None, **stated)
    none: Row = {"sensitivity": None, "specificity": None}
    pooled = row(source, likelihood_ratio=both, design=Design.POOLED, **none)
    single = row(source, likelihood_ratio=both, **none)
    part = row(source, likelihood_ratio=half, design=Design.POOLED, **none)
    usual = row(source)
    assert [each.accuracy for each in rank([part, single, usual, pooled]).ordered] == [
        pooled,
        usual,
        single,
        part,
    ]
    assert rank([single]).reason == "single study, 100 knees; likelihood ratios only"
    assert rank([part]).reason == "published pooling, 100 knees; only part of the accuracy"


def test_nothing_usable_is_said(source: Source) -> None:
    """Without rows, or with barred rows only, nothing is chosen and the reason says so."""
    assert (rank([]).chosen, rank([]).reason) == (None, "no source")
    barred = rank([row(source, caution=Caution.OUTLIER)])
    assert (barred.chosen, barred.reason) == (None, "no source can be used as it stands")
    assert [(each.barred, each.reason) for each in barred.ordered] == [(True, "outlier: odd")]


def test_a_makeshift_choice_says_so(source: Source) -> None:
    """What is chosen for want of better is chosen with its shortcomings named."""
    makeshift = row(source, setting=StudySetting.SURGICAL_COHORT, recalled=True, acuity=StudyAcuity.CHRONIC)
    result = rank([makeshift], setting=StudySetting.PRIMARY_CARE, acuity=StudyAcuity.ACUTE)
    assert result.reason == (
        f"single study, 100 knees; another setting (surgical cohort); another acuity (chronic); {RECALLED}"
    )


@pytest.mark.parametrize(
    ("setting", "wanted", "suits"),
    [
        (StudySetting.HOSPITAL, StudySetting.SURGICAL_COHORT, True),
        (StudySetting.HOSPITAL, StudySetting.PRIMARY_CARE, False),
        (StudySetting.SURGICAL_COHORT, StudySetting.SPECIALIST_CLINIC, False),
        (StudySetting.UNSTATED, StudySetting.PRIMARY_CARE, True),
        (StudySetting.VOLUNTEERS, None, True),
    ],
)
def test_settings_that_suit(
    setting: StudySetting, wanted: StudySetting | None, suits: bool, source: Source
) -> None:
    """Several hospital settings pooled hold for each of them, not for primary care."""
    assert row(source, setting=setting).suits_setting(wanted) is suits


@pytest.mark.parametrize(
    ("acuity", "wanted", "suits"),
    [
        (StudyAcuity.ANY, StudyAcuity.ACUTE, True),
        (StudyAcuity.MOSTLY_CHRONIC, StudyAcuity.CHRONIC, True),
        (StudyAcuity.SUBACUTE_CHRONIC, StudyAcuity.ACUTE, False),
        (StudyAcuity.ACUTE, StudyAcuity.CHRONIC, False),
        (StudyAcuity.SCREENING, None, True),
    ],
)
def test_acuities_that_suit(
    acuity: StudyAcuity, wanted: StudyAcuity | None, suits: bool, source: Source
) -> None:
    """Mixed series hold for every acuity, mostly chronic ones for chronic knees."""
    assert row(source, acuity=acuity).suits_acuity(wanted) is suits


def test_different_questions_are_not_ranked_together(edition: Edition) -> None:
    """Rows for several targets or levels are refused, naming them: they are not rivals."""
    with pytest.raises(EvidenceError, match=r"lachman for acl_partial_tear \(positive\)"):
        rank(edition.accuracy_of("lachman"))
    with pytest.raises(EvidenceError, match=r"synovial_wbc for septic_arthritis \(<25000 per uL\)"):
        rank(edition.accuracy_of("synovial_wbc"))


def test_what_may_be_pooled(source: Source) -> None:
    """Only single studies with all four counts, counted once, may enter a pooled estimate."""
    stated: Row = {"source": source, "provenance": Provenance.DERIVED}
    whole = Counts2x2(tp=40, fp=10, fn=10, tn=40, **stated)
    half = Counts2x2(tp=40, fp=None, fn=10, tn=None, **stated)
    assert row(source, counts=whole).poolable
    assert not row(source, counts=half).poolable
    assert not row(source).poolable
    assert not row(source, counts=whole, independent=False).poolable
    assert not row(source, counts=whole, design=Design.POOLED).poolable


def test_a_share_above_one_is_refused(source: Source) -> None:
    """A percentage written where a share belongs is refused."""
    with pytest.raises(EvidenceError, match=r"sensitivity 81 .* is not within 0 to 1"):
        row(source, sensitivity=Estimate(value=81, source=source, provenance=Provenance.PUBLISHED))
