"""Knees that heal after an operation: what is usual then tells of nothing, what is not still does."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from statistics import NormalDist

import pytest

from fabella.anatomy import Side
from fabella.evidence.knowledge import load_knowledge
from fabella.evidence.links import healing
from fabella.infer import ANY_LEVEL, KneeEvidence, Setting, load_model, posterior
from fabella.infer.context import HEALS_WEEKS
from fabella.infer.evidence_of import Observation, plain
from fabella.infer.healing import ALONE, heals_within_weeks
from fabella.record import (
    Acuity,
    Context,
    Examination,
    Finding,
    History,
    Mechanism,
    Origin,
    Patient,
    Procedure,
    ProcedureName,
    State,
)
from fabella.record import Setting as Clinic
from fabella.workup import run_workup

NEW = Setting(
    setting="specialist_clinic",
    acuity="subacute",
    age_years=68,
    sex="female",
    replaced=True,
    operated_lately=True,
    healing=12,
)
OLD = replace(NEW, operated_lately=False, healing=None)
KINDS = ("", "bone", "ligament")
WARM = plain("warmth", 1, 2)


def infected(setting: Setting, *observations: Observation) -> float:
    """Return the chance that a replacement is infected."""
    model = load_model()
    states = posterior(model, KneeEvidence(setting=setting, observations=observations)).states
    return model.chances(states)["prosthesis_infection", ANY_LEVEL]


def times(setting: Setting, *observations: Observation) -> float:
    """Return by how much findings multiply the odds of an infection."""
    before, after = infected(setting), infected(setting, *observations)
    return after / (1 - after) / (before / (1 - before))


def test_warmth_of_a_new_replacement_says_next_to_nothing() -> None:
    """Beside 864 replacements without a complication 25 infected ones were warmer by 0.3 °C at two weeks.

    Sharma 2024 J Arthroplasty; that warmth alone should not cause concern: Haidar 2006 Knee 13:422-426.
    """
    assert times(NEW, WARM) < 1.1
    assert times(OLD, WARM) > 1.5


def test_fever_and_a_draining_wound_tell_as_much_as_ever() -> None:
    """What healing does not bring keeps its weight."""
    for sign in ("fever", "sinus"):
        found = plain(sign, 1)
        assert times(NEW, found) == pytest.approx(times(OLD, found), rel=0.5), sign
        assert times(NEW, found) > 3, sign


@pytest.mark.parametrize(
    ("days", "small", "period"),
    [
        (None, False, None),
        (0, False, 6),
        (42, False, 6),
        (43, False, 12),
        (84, False, 12),
        (182, False, 26),
        (183, False, None),
        (42, True, 12),
        (92, True, None),
    ],
)
def test_a_knee_heals_for_half_a_year_and_half_as_long_after_small_operations(
    days: int | None, small: bool, period: int | None
) -> None:
    """Periods end with their last day."""
    operation = "arthroscopy" if small else "total_knee_replacement"
    found = heals_within_weeks(days, small=small, operation=operation, knowledge=load_knowledge())
    assert found == period


def test_what_any_operation_leaves_is_over_when_the_knee_has_healed() -> None:
    """Only what one kind of operation leaves is usual for longer."""
    knowledge = load_knowledge()
    weeks = {tissue: max(r.within_weeks for r in knowledge.healing if r.tissue == tissue) for tissue in KINDS}
    assert weeks == {"": HEALS_WEEKS, "bone": HEALS_WEEKS, "ligament": 208}
    days = [365, 366 * 2, 208 * 7, 208 * 7 + 1]
    periods = [
        heals_within_weeks(each, small=False, operation="acl_reconstruction", knowledge=knowledge)
        for each in days
    ]
    assert periods == [104, 208, 208, None]


def test_what_a_knee_shows_of_itself_fades() -> None:
    """From period to period everything is rarer, and it is never rarer than in a knee that does not heal."""
    knowledge = load_knowledge()
    leak = {each.manifestation: each.at_least for each in knowledge.causes if not each.parts}
    shown: dict[tuple[str, str], dict[int, tuple[float, ...]]] = {}
    for each in knowledge.healing:
        shown.setdefault((each.manifestation, each.tissue), {})[each.within_weeks] = each.at_least
    for (name, tissue), by_weeks in shown.items():
        assert [*by_weeks][:3] == [6, 12, 26]
        rows = [*by_weeks.values(), leak[name]]
        assert {*map(len, rows)} == {knowledge.manifestations[name]}
        for earlier, later in pairwise(rows):
            assert all(a >= b for a, b in zip(earlier, later, strict=True)), (name, tissue)


def after(weeks: int, *findings: Finding, name: ProcedureName) -> Examination:
    """Return the visit of a knee operated on some weeks ago."""
    on = date(2031, 3, 3)
    done = Procedure(name=name, sides=(Side.RIGHT,), on=on)
    return Examination(
        id="healing",
        origin=Origin.INVENTED,
        examined_on=on + timedelta(weeks=weeks),
        patient=Patient(age_years=68),
        context=Context(
            setting=Clinic.SPECIALIST_CLINIC,
            acuity=Acuity.CHRONIC,
            complaint=(Side.RIGHT,),
            procedure=done,
        ),
        findings=findings,
    )


USUAL = (
    Finding(sign="warmth", side=Side.RIGHT, state=State.ABNORMAL, level="warm"),
    Finding(sign="effusion", side=Side.RIGHT, state=State.ABNORMAL, level="small"),
    Finding(sign="passive_flexion", side=Side.RIGHT, value=100.0),
    Finding(sign="passive_flexion", side=Side.LEFT, value=130.0),
    Finding(sign="passive_extension", side=Side.RIGHT, value=-3.0),
    Finding(sign="passive_extension", side=Side.LEFT, value=0.0),
)


@pytest.mark.parametrize("name", [ProcedureName.TOTAL_KNEE_REPLACEMENT, ProcedureName.ACL_RECONSTRUCTION])
def test_a_usual_course_is_concluded_as_one(name: ProcedureName) -> None:
    """Eight weeks on, warm, a little full and bending to 100 degrees: most likely nothing has gone wrong.

    Median flexion at eight weeks 110 degrees, extension short by 3.2 (Kornuijt 2019). A year on it is another
    matter.
    """

    def of(weeks: int) -> dict[str, float]:
        conclusion = run_workup(after(weeks, *USUAL, name=name)).conclusion
        assert conclusion is not None
        knee = conclusion.knee(Side.RIGHT)
        return {each.lesion: each.probability for each in knee.any_level()} | {"": knee.nothing_listed}

    wrong = "prosthesis_infection" if name.is_replacement else "septic_arthritis"
    early, late = of(8), of(60)
    assert early[""] > 0.5
    assert early[wrong] < 0.1
    assert late[wrong] > 2 * early[wrong]


def test_most_operated_knees_only_heal() -> None:
    """Before anything is examined at least that share has nothing listed."""
    model = load_model()
    prior = model.prior(NEW).probability
    empty = [i for i in range(len(prior)) if not model.states.names(i)]
    assert float(prior[empty].sum()) >= ALONE


LAX = (
    Finding(sign="lachman", side=Side.RIGHT, state=State.ABNORMAL, level="2+"),
    Finding(sign="lachman_end_point", side=Side.RIGHT, state=State.ABNORMAL, level="soft"),
    Finding(sign="pivot_shift", side=Side.RIGHT, state=State.ABNORMAL, level="clunk"),
)


def torn(days: float | None, *findings: Finding) -> float:
    """Return the chance that a cruciate is torn half a year after it was reconstructed.

    Its trouble began with a twist and a pop some days ago, None where nobody knows when.
    """
    seen = after(25, *findings, name=ProcedureName.ACL_RECONSTRUCTION)
    acuity = Acuity.ACUTE if days and days < 14 else Acuity.CHRONIC
    context = replace(seen.context, onset_days=days, mechanism=Mechanism.TWIST, acuity=acuity)
    conclusion = run_workup(
        replace(
            seen,
            context=context,
            patient=Patient(age_years=24),
            history=History({"pop_heard": True, "previous_surgery": True}),
        )
    ).conclusion
    assert conclusion is not None
    knee = conclusion.knee(Side.RIGHT)
    return next(each.probability for each in knee.any_level() if each.lesion == "acl_tear")


def test_what_was_operated_on_is_mended_until_it_is_found_torn() -> None:
    """The history of a ligament that has been reconstructed since says nothing; a lax knee still does."""
    assert torn(400) < 0.05
    assert torn(None) == torn(400)
    assert torn(400, *LAX) > 0.5


def test_a_new_injury_is_a_new_injury() -> None:
    """Who twists an operated knee and hears a pop a week ago may have torn the graft."""
    assert torn(7) > 3 * torn(400)


def test_every_operation_that_mends_is_known() -> None:
    """The table names operations of the record, and none that is no operation or mends nothing."""
    named = {each for base in load_knowledge().base_rates.values() for each in base.mended}
    assert all(ProcedureName(each).is_operation for each in named)


def test_a_bad_row_is_refused() -> None:
    """A higher level may not be surer than a lower one."""
    row = {"within_weeks": "6", "tissue": "", "manifestation": "effusion", "strength": "10"}
    with pytest.raises(ValueError, match="higher level"):
        healing({**row, "at_least_1": "0.1", "at_least_2": "0.2", "at_least_3": ""}, {})
    with pytest.raises(ValueError, match="bone or ligament"):
        healing({**row, "tissue": "skin", "at_least_1": "0.1", "at_least_2": "", "at_least_3": ""}, {})


def test_an_injection_speaks_for_a_worn_knee_and_for_an_infection() -> None:
    """Most knees are injected because they are worn; it had counted against that."""
    knee = Setting(setting="primary_care", acuity="chronic", age_years=68)
    model = load_model()

    def chances(*observations: Observation) -> tuple[float, float]:
        told = model.chances(posterior(model, KneeEvidence(setting=knee, observations=observations)).states)
        return told["osteoarthritis", ANY_LEVEL], told["septic_arthritis", ANY_LEVEL]

    before, after_it = chances(), chances(plain("recent_injection_or_aspiration", 1))
    assert after_it[0] > before[0]
    assert after_it[1] > 1.5 * before[1]


def found(sign: str, level: str | None = None, *, value: float | None = None) -> Finding:
    """Return an abnormal or measured finding on the right."""
    state = State.ABNORMAL if value is None else None
    unit = None if value is None else "deg"
    return Finding(sign=sign, side=Side.RIGHT, state=state, level=level, value=value, unit=unit)


def concluded(
    weeks: int, *findings: Finding, name: ProcedureName, acuity: Acuity = Acuity.CHRONIC
) -> dict[str, float]:
    """Return how likely each lesion is some weeks after an operation; the empty name is nothing listed."""
    seen = after(weeks, *findings, name=name)
    conclusion = run_workup(replace(seen, context=replace(seen.context, acuity=acuity))).conclusion
    assert conclusion is not None
    knee = conclusion.knee(Side.RIGHT)
    return {each.lesion: each.probability for each in knee.any_level()} | {"": knee.nothing_listed}


INFECTED = (
    found("warmth", "hot"),
    found("erythema", "marked"),
    found("effusion", "large"),
    found("motion_pain_any"),
    found("passive_flexion", value=50.0),
)


def test_a_foot_that_drops_after_a_replacement_is_a_nerve_at_the_knee() -> None:
    """203 palsies of the peroneal nerve in 47,585 replacements (Carender 2020), far more than of a root."""
    foot = (found("foot_drop", "absent"), found("peroneal_sensation"))
    after_two_weeks = concluded(2, *foot, name=ProcedureName.TOTAL_KNEE_REPLACEMENT)
    assert after_two_weeks["peroneal_nerve_injury"] > 2 * after_two_weeks["lumbar_radiculopathy"]


def test_a_swollen_calf_soon_after_an_operation_is_thought_of_as_a_clot() -> None:
    """The odds of a thrombosis are 21.7 times as high after surgery (Heit 2000), not a year later."""
    leg = (found("tenderness_calf"), found("whole_leg_swollen"), found("pitting_oedema"))
    soon, late = (
        concluded(weeks, *leg, name=ProcedureName.TOTAL_KNEE_REPLACEMENT)["deep_vein_thrombosis"]
        for weeks in (2, 50)
    )
    assert soon > 0.2
    clot = load_knowledge().base_rates["deep_vein_thrombosis"].after_operation
    assert clot is not None
    assert clot.within_weeks is not None
    assert Setting(operated_lately=True, healing=6).operated_within(clot.within_weeks)
    assert not Setting(operated_lately=True, healing=26).operated_within(clot.within_weeks)
    assert late > 0


def test_an_infected_partial_replacement_is_an_infected_prosthesis() -> None:
    """Half a prosthesis is infected as a whole one is, and no joint of its own."""
    part, whole = (
        concluded(3, *INFECTED, name=name)
        for name in (ProcedureName.PARTIAL_KNEE_REPLACEMENT, ProcedureName.TOTAL_KNEE_REPLACEMENT)
    )
    assert part["prosthesis_infection"] == pytest.approx(whole["prosthesis_infection"], abs=0.05)
    assert part["septic_arthritis"] == 0


def test_a_joint_that_was_washed_out_may_be_septic_again() -> None:
    """Of 128 adults 49 needed more than one washout (Hunter 2015)."""
    washed = concluded(2, *INFECTED, name=ProcedureName.WASHOUT)
    looked_into = concluded(2, *INFECTED, name=ProcedureName.ARTHROSCOPY)
    assert washed["septic_arthritis"] > max(0.5, looked_into["septic_arthritis"])


def test_a_fresh_injury_that_was_operated_on_leaves_a_knee_that_heals() -> None:
    """That the injury is of late says nothing against a usual course once it has been seen to."""
    fresh, old = (
        concluded(2, *USUAL, name=ProcedureName.EXTENSOR_REPAIR, acuity=each)[""]
        for each in (Acuity.ACUTE, Acuity.CHRONIC)
    )
    assert min(fresh, old) > 0.7


def test_a_bone_that_was_cut_is_tender_while_it_heals() -> None:
    """After an osteotomy its tenderness no longer tells of a worn knee; after a graft, or healed, it does."""
    cut = replace(NEW, replaced=False, age_years=47, acuity="chronic", operation="osteotomy")
    tender = plain("tenderness_medial_tibial_plateau", 1)

    def worn(setting: Setting) -> float:
        def odds(*observations: Observation) -> float:
            model = load_model()
            states = posterior(model, KneeEvidence(setting=setting, observations=observations)).states
            chance = model.chances(states)["osteoarthritis", ANY_LEVEL]
            return chance / (1 - chance)

        return odds(tender) / odds()

    assert worn(cut) < 1.5
    assert worn(replace(cut, operation="acl_reconstruction")) > 2
    assert worn(replace(cut, healing=None)) > 2


def test_what_needs_a_bone_says_so() -> None:
    """A row of the table is of bone by that word, and of any operation without one."""
    of_bone = {row.manifestation for row in load_knowledge().healing if row.tissue == "bone"}
    assert of_bone == {"tibial_bone", "femoral_bone", "medial_line", "lateral_line"}


THIN = (
    Finding(sign="thigh_girth", side=Side.RIGHT, value=45.5, unit="cm"),
    Finding(sign="thigh_girth", side=Side.LEFT, value=48.0, unit="cm"),
)
WELL = (
    *(
        Finding(sign=sign, side=Side.RIGHT, state=State.NORMAL)
        for sign in (
            "effusion_sweep",
            "warmth",
            "lachman",
            "pivot_shift",
            "joint_line_tenderness",
            "mcmurray",
        )
    ),
    found("passive_flexion", value=135.0),
    replace(found("passive_flexion", value=135.0), side=Side.LEFT),
)


def reconstructed(weeks: int, *findings: Finding, complaint: bool) -> dict[str, float]:
    """Return how likely each lesion is some weeks after a cruciate was reconstructed at 26."""
    seen = after(weeks, *findings, name=ProcedureName.ACL_RECONSTRUCTION)
    context = replace(seen.context, complaint=(Side.RIGHT,) if complaint else ())
    conclusion = run_workup(replace(seen, context=context, patient=Patient(age_years=26))).conclusion
    assert conclusion is not None
    knee = conclusion.knee(Side.RIGHT)
    return {each.lesion: each.probability for each in knee.any_level()} | {"": knee.nothing_listed}


@pytest.mark.parametrize("complaint", [False, True])
@pytest.mark.parametrize("weeks", [40, 52, 100])
def test_a_thin_thigh_is_usual_for_years_after_a_ligament_was_reconstructed(
    weeks: int, complaint: bool
) -> None:
    """Thighs are 2.53 cm thinner at half a year (Krahn 2025), and by 1.8 % after four (Arangio 1997).

    A year on it had made a well knee one with patellofemoral pain in every fifth.
    """
    thin, full = (reconstructed(weeks, *WELL, *found_too, complaint=complaint) for found_too in (THIN, ()))
    assert thin["patellofemoral_pain"] == pytest.approx(full["patellofemoral_pain"], abs=0.03)
    assert thin[""] == pytest.approx(full[""], abs=0.03)


def test_a_thin_thigh_tells_where_no_ligament_was_reconstructed() -> None:
    """A year after an arthroscopy, or long after the reconstruction, it speaks for a lesion as ever."""
    late = reconstructed(260, *WELL, *THIN, complaint=False)[""]
    assert late < reconstructed(260, *WELL, complaint=False)[""] - 0.2
    looked_into = after(52, *WELL, *THIN, name=ProcedureName.ARTHROSCOPY)
    looked_into = replace(looked_into, patient=Patient(age_years=26))
    conclusion = run_workup(
        replace(looked_into, context=replace(looked_into.context, complaint=()))
    ).conclusion
    assert conclusion is not None
    assert conclusion.knee(Side.RIGHT).nothing_listed == pytest.approx(late, abs=0.1)


def test_the_thinness_of_a_thigh_is_the_published_one() -> None:
    """At half a year the shares of 67 differences of 2.53 cm with a standard deviation of 1.54 (Krahn 2025).

    Alike and much thinner begin at 1 and at 3 cm.
    """
    girth = NormalDist(2.53, 1.54)
    shown = {
        r.within_weeks: r.at_least
        for r in load_knowledge().healing
        if r.tissue and r.manifestation == "wasting"
    }
    assert shown[26] == pytest.approx([1 - girth.cdf(1), 1 - girth.cdf(3)], abs=0.01)
    four_years = NormalDist(0.018 * 50, 1.54)
    assert shown[208] == pytest.approx([1 - four_years.cdf(1), 1 - four_years.cdf(3)], abs=0.01)


def test_a_knee_that_is_warm_a_year_on_is_not_excused_by_its_thigh() -> None:
    """Each finding is usual for a time of its own: warmth no longer is when a thin thigh still is."""
    warm = replace(found("warmth", "warm"), side=Side.RIGHT)
    others = tuple(each for each in WELL if each.sign != "warmth")
    now, later = (reconstructed(weeks, *others, *THIN, warm, complaint=True) for weeks in (20, 52))
    assert later["septic_arthritis"] > 3 * now["septic_arthritis"]


def test_an_artery_is_injured_in_as_many_replacements_as_published() -> None:
    """In 0.057 % (633 of 1,120,508, Matsen Ko 2014) to 0.17 % (ischaemia, Hodgson 2023), within 30 days.

    Where the pulses of the foot are lost then, it is thought of before a disease of the artery.
    """
    model = load_model()
    soon = replace(NEW, acuity=None, sex=None, healing=6)
    injured = model.states.having("popliteal_artery_injury")
    assert 0.00057 < float(model.prior(soon).probability[injured].sum()) < 0.0025
    assert float(model.prior(replace(soon, healing=12)).probability[injured].sum()) < 0.0005
    told = concluded(1, found("distal_pulses", "absent"), name=ProcedureName.TOTAL_KNEE_REPLACEMENT)
    assert told["popliteal_artery_injury"] > 3 * told["popliteal_artery_disease"]


def test_as_many_replacements_stiffen_as_published() -> None:
    """Acquired stiffness in 4 % of 48,873 (Tibbo 2019), in 3.6 % of 12,735 (Owen 2021)."""
    model = load_model()
    stiff = model.states.having("arthrofibrosis")
    for setting in ("specialist_clinic", "emergency", None):
        knee = replace(NEW, acuity=None, setting=setting)
        assert 0.02 < float(model.prior(knee).probability[stiff].sum()) < 0.06, setting
