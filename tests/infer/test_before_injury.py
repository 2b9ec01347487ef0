"""What was there before the injury, and how often an injury is told of what it did not bring about."""

from __future__ import annotations

import pytest

from fabella.anatomy import Side
from fabella.infer import load_model
from fabella.infer.context import UNHURT
from fabella.infer.context import Setting as KneeSetting
from fabella.infer.prior import told_of
from fabella.record import (
    Acuity,
    Context,
    Examination,
    Finding,
    History,
    Mechanism,
    Origin,
    Patient,
    Setting,
    Sex,
    State,
)
from fabella.workup import Workup, run_workup

MODEL = load_model()
BEFORE = "pain_before_injury"
RIGHT = Side.RIGHT
MECHANISMS = tuple(MODEL.knowledge.mechanisms["acl_tear"])


def worked_up(mechanism: Mechanism, before: bool | None, *, age: float = 16) -> Workup:
    """A sore swollen knee of an emergency department, seen a day after it was hurt, or began to hurt."""
    found = (
        Finding(sign="bony_tenderness", side=RIGHT, state=State.ABNORMAL),
        Finding(sign="swelling_visible", side=RIGHT, state=State.ABNORMAL),
    )
    return run_workup(
        Examination(
            id="before",
            origin=Origin.INVENTED,
            patient=Patient(age_years=age, sex=Sex.MALE),
            context=Context(
                setting=Setting.EMERGENCY,
                acuity=Acuity.ACUTE,
                onset_days=1,
                mechanism=mechanism,
                complaint=(RIGHT,),
            ),
            findings=found,
            history=History({} if before is None else {BEFORE: before}),
        )
    )


def told(workup: Workup) -> dict[str, float]:
    """Return how likely each lesion of the right knee is."""
    assert workup.conclusion is not None
    (knee,) = [each for each in workup.conclusion.knees if each.side is RIGHT]
    return {each.lesion: each.probability for each in knee.any_level()}


def told_share(lesion: str, level: str, setting: KneeSetting) -> float:
    """Return the share of those with a lesion who tell of an injury, mistold ones among them."""
    slot = MODEL.states.slots.index((lesion, level))
    told = {each: told_of(MODEL.states, MODEL.knowledge, setting, each)[slot] for each in MECHANISMS}
    return float(1 - sum(told[each] for each in UNHURT) / sum(told.values()))


def rate(lesion: str, setting: KneeSetting) -> float:
    """Return how common a lesion is before anything is examined."""
    prior = MODEL.prior(setting).probability
    return float((prior @ MODEL.membership)[MODEL.states.lesions.index(lesion)])


def test_pain_before_a_minor_fall_speaks_for_what_was_there() -> None:
    """Pain comes weeks before swelling in osteosarcoma (Pan 2010), and before a fall through it.

    The odds grow manifold; a sound knee that fell loses, and one that was well until then is the reverse.
    """
    ill, unasked, well = (told(worked_up(Mechanism.MINOR_FALL, before)) for before in (True, None, False))
    for lesion in ("bone_tumour", "stress_fracture", "osgood_schlatter"):
        assert ill[lesion] > 3 * unasked[lesion] > 3 * well[lesion], lesion
    assert ill["soft_tissue_injury"] < unasked["soft_tissue_injury"] < well["soft_tissue_injury"]


@pytest.mark.parametrize("mechanism", [Mechanism.INSIDIOUS, Mechanism.OVERUSE])
@pytest.mark.parametrize("before", [True, False])
def test_it_says_nothing_without_an_injury(mechanism: Mechanism, before: bool) -> None:
    """Who ticks it, or no, where nothing happened has told of the complaint itself, which is there."""
    assert told(worked_up(mechanism, before)) == told(worked_up(mechanism, None))


def test_it_is_asked_of_injuries_alone() -> None:
    """It is a step that may be proposed after a fall, and none where there was no injury."""
    assert BEFORE in KneeSetting(mechanism="insidious").silent
    assert BEFORE in KneeSetting(mechanism="overuse").silent
    for mechanism in ("twist", "minor_fall", None):
        assert BEFORE not in KneeSetting(mechanism=mechanism).silent


def test_sarcomas_are_told_with_an_injury_as_often_as_published() -> None:
    """60 of 149 first visits (Widhe 2000) and 16 of 30 interviews (Pan 2010): 76 of 179, or 42 %."""
    young = KneeSetting(setting="specialist_clinic", acuity="chronic", age_years=17.0)
    assert told_share("bone_tumour", "aggressive", young) == pytest.approx(76 / 179, abs=0.01)
    old = KneeSetting(setting="specialist_clinic", acuity="chronic", age_years=70.0)
    assert told_share("bone_tumour", "aggressive", old) < 0.35  # metastases: nobody counted them


def test_exertion_means_a_stress_fracture_in_as_many_conscripts_as_published() -> None:
    """88 of 1,330 conscripts with knee pain from exercise had one on magnetic resonance (Niva 2006): 7 %."""
    conscript = KneeSetting(
        setting="specialist_clinic", acuity="chronic", age_years=20.0, sex="male", mechanism="overuse"
    )
    assert rate("stress_fracture", conscript) == pytest.approx(88 / 1330, abs=0.015)


def test_an_aged_bone_gives_way_without_exertion() -> None:
    """10 of 340 with a worn knee and a suspected meniscal tear had one (Huizinga 2020): 1.2 to 4.7 %."""
    for age in (65.0, 75.0):
        shares = [
            rate(
                "stress_fracture",
                KneeSetting(
                    setting="specialist_clinic",
                    acuity="chronic",
                    age_years=age,
                    sex=sex,
                    mechanism="insidious",
                ),
            )
            for sex in ("female", "male")
        ]
        assert 0.0115 < sum(shares) / 2 < 0.0471


def test_mechanisms_of_later_ages_add_up_and_are_others() -> None:
    """A row that repeats the one before it would only look as if age mattered."""
    knowledge = MODEL.knowledge
    assert knowledge.later_mechanisms
    for name, years, shares in knowledge.later_mechanisms:
        lesion, _, level = name.partition(":")
        assert sum(shares.values()) == pytest.approx(1, abs=0.002)
        assert knowledge.mechanisms_of(lesion, level, years) == shares
        assert knowledge.mechanisms_of(lesion, level, years - 1) != shares
        assert knowledge.mechanisms_of(lesion, level, None) == knowledge.mechanisms[name]
