"""Three invented patients, with all that would be computed from them written by hand."""

from __future__ import annotations

from datetime import date
from typing import Any

from fabella.anatomy import Side
from fabella.anatomy import other as other_side
from fabella.protocol import load_protocol
from fabella.record import (
    Acuity,
    Context,
    Examination,
    Finding,
    Mechanism,
    Origin,
    Patient,
    Reason,
    Setting,
    Sex,
    State,
)
from fabella.report import Outcome, Reading, Readings
from fabella.workup import (
    ANY_LEVEL,
    Advice,
    Alarm,
    AlarmVerdict,
    Conclusion,
    Criterion,
    Fit,
    Graded,
    Grounding,
    KneeConclusion,
    LesionProbability,
    NextStep,
    Outlook,
    Urgency,
    Verdict,
    Why,
    Withheld,
    Workup,
)
from fabella.workup import Reason as Weight

RIGHT, LEFT = Side.RIGHT, Side.LEFT
WRITTEN_ON = date(2026, 2, 3)
PROTOCOL = load_protocol()
OF_A_KNEE = [sign.id for sign in PROTOCOL.signs if not sign.is_person and not sign.is_history]
GOOD_FIT = Fit(p_value=0.6, poor=False, odd=())
GROUNDS = Grounding(published=0.7, derived=0.1, judgement=0.2)


def reading(sign: str, side: Side, outcome: Outcome = Outcome.ABNORMAL, **parts: object) -> Reading:
    """One reading, abnormal unless said otherwise."""
    known = PROTOCOL.sign(sign)
    levels = len(known.scale.levels)
    return Reading(
        sign=sign, name=known.name, step=known.position, side=side, outcome=outcome, levels=levels, **parts  # type: ignore[arg-type]
    )  # fmt: skip


def found(sign: str, side: Side | None, what: str | float | State, level: str | None = None) -> Finding:
    """A finding from a level, a value, a value with a level, or a state."""
    known = PROTOCOL.sign(sign)
    measure = known.scale.measure
    if isinstance(what, State):
        reason = Reason.GUARDING if what is State.UNTESTABLE else None
        return Finding(sign=sign, side=side, state=what, reason=reason)
    if isinstance(what, str):
        state = State.NORMAL if known.level(what).rank == 0 else State.ABNORMAL
        return Finding(sign=sign, side=side, state=state, level=what)
    assert measure is not None
    state_of_level = None
    if level is not None:
        state_of_level = State.NORMAL if known.level(level).rank == 0 else State.ABNORMAL
    return Finding(
        sign=sign, side=side, state=state_of_level, level=level, value=what, unit=measure.unit.value
    )


def both(sign: str, right: Any, left: Any) -> tuple[Finding, Finding]:
    """The same sign on both sides."""
    return found(sign, RIGHT, right), found(sign, LEFT, left)


def judged(findings: tuple[Finding, ...], sign: str, side: Side, verdict: Verdict, *reasons: Why) -> Graded:
    """A grading that says no more than the report reads."""
    own = next(each for each in findings if (each.sign, each.side) == (sign, side))
    across = next((each for each in findings if (each.sign, each.side) == (sign, other_side(side))), None)
    difference = None
    if own.value is not None and across is not None and across.value is not None:
        difference = own.value - across.value
    return Graded(
        sign=sign, side=side, finding=own, levels=("normal", "abnormal"), level_weights=(0.5, 0.5),
        stands_for=None, other=across, difference=difference, worse_by=None, error=None, norm=None, band=None,
        verdict=verdict, reasons=reasons,
    )  # fmt: skip


def likely(
    lesion: str,
    probability: float,
    level: str = ANY_LEVEL,
    *,
    pro: tuple[str, ...] = (),
    contra: tuple[str, ...] = (),
) -> LesionProbability:
    """A lesion with a probability, an interval around it, and reasons of falling weight."""
    return LesionProbability(
        lesion=lesion, level=level, prior=0.1, probability=probability, low=probability * 0.8,
        high=probability + (1 - probability) * 0.4, grounding=GROUNDS,
        reasons_for=tuple(_weights(pro, abnormal=True, sign=1)),
        reasons_against=tuple(_weights(contra, abnormal=False, sign=-1)),
    )  # fmt: skip


def _weights(signs: tuple[str, ...], *, abnormal: bool, sign: int) -> list[Weight]:
    return [
        Weight(
            sign=each, abnormal=abnormal, weight_bits=sign * 3.0 / (place + 1), sources=(), grounding=GROUNDS
        )
        for place, each in enumerate(signs)
    ]


def knee(
    side: Side, *lesions: LesionProbability, nothing: float = 0.01, fit: Fit = GOOD_FIT
) -> KneeConclusion:
    """A conclusion about one knee on which something was examined."""
    return KneeConclusion(
        side=side, symptomatic=True, lesions=lesions, combinations=(), nothing_listed=nothing, guarding=0.1,
        fit=fit, findings=("lachman",), unused=(),
    )  # fmt: skip


def concluded(right: KneeConclusion, left: KneeConclusion) -> Conclusion:
    """A conclusion about both knees."""
    return Conclusion(edition="2026.1", knees=(right, left))


def alarm(rule: str, side: Side | None, urgency: Urgency, *, met: bool = True) -> Alarm:
    """An alarm with one criterion."""
    criterion = (Criterion(id="one", words="the one criterion", ask="ask about the one criterion"),)
    return Alarm(
        rule=rule, name=f"Rule {rule.replace('_', ' ')}", side=side, urgency=urgency,
        verdict=AlarmVerdict.MET if met else AlarmVerdict.CANNOT_BE_EXCLUDED,
        met=criterion if met else (), unknown=() if met else criterion, unmet=(), action="Do what it takes.",
        source="common practice", doi_or_pmid="", recalled=False, contraindicates=(),
    )  # fmt: skip


def step(kind: str, name: str, side: Side, outlook: Outlook) -> NextStep:
    """A next step with one outlook."""
    return NextStep(
        kind=kind, id=name.casefold().replace(" ", "_"), name=name, side=side, bits=0.5, minutes=1.0,
        bits_per_minute=0.5, hurts=1, outlooks=(outlook,), sources=(),
    )  # fmt: skip


def workup(examination: Examination, **parts: Any) -> Workup:
    """A workup with nothing computed but the parts given."""
    empty: dict[str, Any] = {"alarms": (), "graded": (), "conclusion": None, "advice": None, "failures": ()}
    return Workup(examination=examination, edition="2026.1", version="0.1.0", **{**empty, **parts})


def readings(*findings: tuple[str, Side | None, Outcome]) -> Readings:
    """Readings that know only their outcome."""
    return Readings(
        all=tuple(
            Reading(
                sign=sign, name=PROTOCOL.sign(sign).name, step=PROTOCOL.sign(sign).position, side=side,
                outcome=outcome, levels=len(PROTOCOL.sign(sign).scale.levels),
            )
            for sign, side, outcome in findings
        )
    )  # fmt: skip


def twisted_knee() -> Workup:
    """A young man who twisted his right knee a month ago; the left one is sound."""
    findings = (
        *both("antalgic_gait", "mild", "none"),
        *both("varus_alignment", "none", "none"),
        *both("valgus_alignment", "none", "none"),
        *both("quadriceps_wasting", "mild", "none"),
        *both("effusion_sweep", "2+", "zero"),
        *both("effusion", "moderate", "none"),
        *both("joint_line_tenderness_medial", State.ABNORMAL, State.NORMAL),
        *both("joint_line_tenderness_lateral", State.NORMAL, State.NORMAL),
        *both("passive_extension", -5.0, 3.0),
        *both("passive_flexion", 120.0, 140.0),
        *both("thigh_girth", 41.5, 43.5),
        found("lachman", RIGHT, 8.0, "2+"),
        found("lachman", LEFT, 3.0, "0"),
        *both("lachman_end_point", "soft", "firm"),
        *both("anterior_drawer", "1+", "0"),
        *both("posterior_drawer", "0", "0"),
        *both("pivot_shift", State.UNTESTABLE, "none"),
        *both("valgus_stress_0", "0", "0"),
        *both("valgus_stress_30", "0", "0"),
        *both("varus_stress_0", "0", "0"),
        *both("varus_stress_30", "0", "0"),
        *both("mcmurray_medial", State.ABNORMAL, State.NORMAL),
        *both("mcmurray_lateral", State.NORMAL, State.NORMAL),
        *both("distal_pulses", "normal", "normal"),
    )
    beyond = (Verdict.ABNORMAL, Why.BY_SIDE_DIFFERENCE, Why.BEYOND_ERROR)
    within = (Verdict.NO_LARGER_THAN_MEASUREMENT_ERROR, Why.WITHIN_ERROR)
    graded = (
        judged(findings, "passive_extension", RIGHT, *beyond),
        judged(findings, "passive_extension", LEFT, Verdict.NORMAL),
        judged(findings, "passive_flexion", RIGHT, *beyond),
        judged(findings, "passive_flexion", LEFT, Verdict.NORMAL),
        judged(findings, "thigh_girth", RIGHT, *within),
        judged(findings, "thigh_girth", LEFT, *within),
        judged(findings, "lachman", RIGHT, *beyond),
        judged(findings, "lachman", LEFT, Verdict.NORMAL),
    )
    acl = likely(
        "acl_tear",
        0.93,
        pro=("lachman", "lachman_end_point", "giving_way"),
        contra=("joint_line_tenderness_lateral",),
    )
    right = knee(
        RIGHT,
        acl,
        likely("acl_tear", 0.80, "complete"),
        likely("medial_meniscus_tear", 0.58, pro=("mcmurray_medial",), contra=("locking",)),
        likely("medial_meniscus_tear", 0.5, "torn"),
        likely("medial_meniscus_tear", 0.08, "displaced"),
        likely("lateral_meniscus_tear", 0.17),
        likely("acl_tear", 0.13, "partial"),
        likely("osteochondral_lesion", 0.07),
    )
    left = knee(LEFT, likely("osteoarthritis", 0.02), nothing=0.93)
    pivot = Outlook(outcome="clunk", chance=0.5, lesion="acl_tear", now=0.93, then=0.99)
    mri = Outlook(outcome="shown", chance=0.5, lesion="medial_meniscus_tear", now=0.58, then=0.95)
    return workup(
        Examination(
            id="made-up-1",
            origin=Origin.PATIENT,
            examined_on=date(2026, 2, 2),
            patient=Patient(age_years=24, sex=Sex.MALE, label="Patient Alpha"),
            context=Context(
                setting=Setting.SPECIALIST_CLINIC, acuity=Acuity.SUBACUTE, onset_days=30,
                mechanism=Mechanism.TWIST, mechanism_words="It went from under me.", complaint=(RIGHT,),
            ),
            history={
                "pop_heard": True, "swelling_noticed": True, "swelling_onset_hours": 2.0, "giving_way": True,
                "locking": False, "previous_surgery": False,
            },
            findings=findings,
        ),
        graded=graded,
        conclusion=concluded(right, left),
        advice=Advice(
            bedside=(step("manoeuvre", "Pivot shift", RIGHT, pivot),),
            images=(step("image", "MRI", RIGHT, mri),),
            withheld=(),
            enough=False,
        ),
    )  # fmt: skip


def hot_knee() -> Workup:
    """An older woman with a hot left knee; the right one was not examined and nothing could be concluded."""
    findings = (
        found("walking_aid", None, "crutches"),
        found("body_temperature", None, 38.6),
        found("erythema", LEFT, "marked"),
        found("warmth", LEFT, "hot"),
        found("effusion", LEFT, "large"),
        found("motion_pain_any", LEFT, State.ABNORMAL),
        found("lachman", LEFT, State.UNTESTABLE),
        found("distal_pulses", LEFT, "normal"),
    )
    return workup(
        Examination(
            id="made-up-2",
            origin=Origin.PATIENT,
            examined_on=date(2026, 2, 3),
            patient=Patient(age_years=71, sex=Sex.FEMALE),
            context=Context(setting=Setting.EMERGENCY, acuity=Acuity.ACUTE, onset_days=1, complaint=(LEFT,)),
            history={"fever": True, "diabetes": True, "knee_prosthesis": False},
            findings=findings,
        ),
        alarms=(
            alarm("septic_joint_adult", LEFT, Urgency.NOW),
            alarm("dvt_2003", LEFT, Urgency.SAME_DAY, met=False),
            alarm("tumour_bone_pain", LEFT, Urgency.WITHIN_2_WEEKS, met=False),
        ),
        failures=("the conclusion could not be computed: the table of accuracies is missing",),
    )


def worn_knees() -> Workup:
    """A man whose knees are both worn, with findings that fit nothing well."""
    findings = (
        *both("tibiofemoral_angle", -4.0, -9.0),
        *both("antalgic_gait", "none", "marked"),
        *both("bony_enlargement", State.ABNORMAL, State.ABNORMAL),
        *both("crepitus", "fine", "coarse"),
        *both("effusion", "none", "small"),
        *both("passive_flexion", 125.0, 105.0),
        *both("lachman", "0", "0"),
        *both("patellar_apprehension", "none", "marked"),
        *both("patellar_tracking", State.NORMAL, State.NORMAL),
        *both("distal_pulses", "normal", "normal"),
    )
    odd = Fit(p_value=0.01, poor=True, odd=("patellar_apprehension",))
    right = knee(RIGHT, likely("osteoarthritis", 0.72, pro=("bony_enlargement", "crepitus")))
    left = knee(
        LEFT,
        likely("osteoarthritis", 0.9999, pro=("bony_enlargement", "crepitus", "tibiofemoral_angle")),
        likely("osteoarthritis", 0.85, "advanced"),
        likely("osteoarthritis", 0.14, "mild"),
        likely("patellar_instability", 0.31, pro=("patellar_apprehension",)),
        fit=odd,
    )
    film = Outlook(outcome="shown", chance=0.7, lesion="osteoarthritis", now=0.72, then=0.9)
    return workup(
        Examination(
            id="made-up-3",
            origin=Origin.PATIENT,
            patient=Patient(age_years=68, sex=Sex.MALE, label="Patient Gamma"),
            context=Context(mechanism=Mechanism.INSIDIOUS, onset_days=1500, complaint=(RIGHT, LEFT)),
            history={"morning_stiffness_min": 10.0, "pain_on_stairs": True, "night_pain": False},
            findings=findings,
        ),
        graded=(
            judged(findings, "tibiofemoral_angle", RIGHT, Verdict.CANNOT_JUDGE, Why.NO_NORM),
            judged(findings, "tibiofemoral_angle", LEFT, Verdict.ABNORMAL, Why.BY_NORM),
            judged(findings, "passive_flexion", RIGHT, Verdict.NORMAL),
            judged(findings, "passive_flexion", LEFT, Verdict.MARKEDLY_ABNORMAL, Why.BEYOND_ERROR),
        ),
        conclusion=concluded(right, left),
        advice=Advice(
            bedside=(),
            images=(step("image", "Radiograph", RIGHT, film), step("image", "Radiograph", LEFT, film)),
            withheld=(
                Withheld(id="deep_squat", name="Deep squat", side=LEFT, reasons=("unable to stand",)),
                Withheld(id="duck_walk", name="Duck walk", side=LEFT, reasons=("unable to stand",)),
            ),
            enough=True,
        ),
    )


EVERYBODY = {"twisted_knee": twisted_knee, "hot_knee": hot_knee, "worn_knees": worn_knees}
