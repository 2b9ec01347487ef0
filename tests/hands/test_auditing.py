"""Own hands: what is counted, what is told of it, and the model audited with its own patients."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from functools import cache

import numpy as np
import pytest

from fabella.anatomy import Side, load_lesions
from fabella.evidence.knowledge import load_knowledge
from fabella.hands import ABSENT, Against, Confirmation, Method, OwnHands, SignInOwnHands, audit
from fabella.hands.result import Cells
from fabella.hands.shares import in_own_hands
from fabella.protocol import load_protocol
from fabella.record import Context, Examination, Finding, History, Origin, Patient, Reason, Setting, State
from fabella.report.hands_words import hands_words
from fabella.workup import Drawn, Workup, draw_examinations, drawable, load_model, run_workup

DAY = date(2026, 3, 2)
LATER = DAY + timedelta(days=20)
KNOWLEDGE = load_knowledge()


@cache
def examined(name: str, *findings: Finding, pop: bool | None = None) -> Workup:
    """Work up a right knee complained of."""
    return run_workup(
        Examination(
            id=name,
            origin=Origin.INVENTED,
            examined_on=DAY,
            patient=Patient(),
            context=Context(setting=Setting.SPORTS_CLINIC, complaint=(Side.RIGHT,)),
            history=History({} if pop is None else {"pop_heard": pop}),
            findings=findings,
        )
    )


def lachman(level: str, side: Side = Side.RIGHT) -> Finding:
    """A Lachman test."""
    state = State.NORMAL if level == "0" else State.ABNORMAL
    return Finding(sign="lachman", side=side, state=state, level=level)


def look(
    name: str,
    found: str,
    *,
    lesion: str = "acl_tear",
    method: Method = Method.MRI,
    side: Side = Side.RIGHT,
    on: date = LATER,
) -> Confirmation:
    """One look at one lesion."""
    return Confirmation(examination=name, side=side, on=on, method=method, found={lesion: found})


def audited(workups: Sequence[Workup], *looks: Confirmation) -> OwnHands:
    """Audit with the packaged accuracies."""
    return audit(workups, looks, knowledge=KNOWLEDGE)


def row(hands: OwnHands, sign: str) -> SignInOwnHands:
    """The one row of a sign."""
    (one,) = (each for each in hands.signs if each.sign == sign)
    return one


def test_each_knee_lands_in_the_cell_of_its_finding_and_its_truth() -> None:
    """Hit, miss, false alarm, right denial, two never looked into, one that could not be tested."""
    hands = audited(
        [
            *(examined(name, lachman(level)) for name, level in zip("abcdef", ("2+", "0") * 3, strict=True)),
            examined(
                "g", Finding(sign="lachman", side=Side.RIGHT, state=State.UNTESTABLE, reason=Reason.PAIN)
            ),
            examined("h"),
        ],
        look("a", "complete"),
        look("b", "partial"),
        look("c", ABSENT),
        look("d", ABSENT),
        look("g", "complete"),
        look("h", "complete"),
    )
    assert row(hands, "lachman").cells == Cells(
        positive_present=1,
        negative_present=1,
        positive_absent=1,
        negative_absent=1,
        positive_unknown=1,
        negative_unknown=1,
        untestable=1,
    )
    assert (hands.examinations, hands.confirmed) == (8, 6)


def test_not_looked_for_is_not_absent() -> None:
    """A scan that says nothing of the ligament leaves the knee among those whose truth is not known."""
    hands = audited([examined("a", lachman("2+"))], look("a", ABSENT, lesion="pcl_tear"))
    assert row(hands, "lachman").cells == Cells(positive_unknown=1)
    assert hands.told is not None
    assert (hands.told.statements, hands.told.knees) == (1, 1)


def test_a_sign_of_either_meniscus_is_absent_only_when_both_were_looked_for() -> None:
    """One torn meniscus is enough for present; one intact is not enough for absent."""
    thessaly = Finding(sign="thessaly_20", side=Side.RIGHT, state=State.ABNORMAL)
    workups = [examined(name, thessaly) for name in "abc"]
    hands = audited(
        workups,
        look("a", "torn", lesion="medial_meniscus_tear"),
        look("b", ABSENT, lesion="medial_meniscus_tear"),
        look("c", ABSENT, lesion="medial_meniscus_tear"),
        look("c", ABSENT, lesion="lateral_meniscus_tear"),
    )
    assert row(hands, "thessaly_20").cells == Cells(positive_present=1, positive_unknown=1, positive_absent=1)


def test_the_surer_look_is_believed_and_of_two_alike_the_later() -> None:
    """Arthroscopy outweighs a later scan; a second scan outweighs the first."""
    workups = [examined("a", lachman("2+")), examined("b", lachman("2+"))]
    hands = audited(
        workups,
        look("a", ABSENT, on=LATER + timedelta(days=9)),
        look("a", "complete", method=Method.ARTHROSCOPY),
        look("b", "complete"),
        look("b", ABSENT, on=LATER + timedelta(days=9)),
    )
    assert row(hands, "lachman").cells == Cells(positive_present=1, positive_absent=1)


def test_a_knee_looked_into_before_it_was_examined_is_left_out_and_named() -> None:
    """Who knows the scan finds what it shows; a look on the day itself counts."""
    workups = [examined("a", lachman("2+")), examined("b", lachman("2+"))]
    hands = audited(workups, look("a", "complete", on=DAY - timedelta(days=1)), look("b", "complete", on=DAY))
    assert hands.foreknown == ("a",)
    assert row(hands, "lachman").cells == Cells(positive_present=1)
    assert hands.confirmed == 1


def test_the_sound_knee_counts_only_when_it_was_looked_into() -> None:
    """The other knee is no patient; looked into, it is one more knee. Its history is nobody's."""
    both = examined("a", lachman("2+"), lachman("0", Side.LEFT), pop=True)
    assert row(audited([both]), "lachman").cells == Cells(positive_unknown=1)
    hands = audited([both], look("a", ABSENT, side=Side.LEFT))
    assert row(hands, "lachman").cells == Cells(positive_unknown=1, negative_absent=1)
    assert row(hands, "pop_heard").cells == Cells(positive_unknown=1)


def test_a_look_after_an_examination_that_was_not_given_is_named() -> None:
    """Nothing that was said is dropped in silence."""
    hands = audited([examined("a", lachman("2+"))], look("elsewhere", "complete"))
    assert hands.unmatched == ("elsewhere",)
    assert hands.told is None


def test_a_surprise_names_what_spoke_the_wrong_way() -> None:
    """A torn ligament behind a firm Lachman test is a surprise, and the test is what misled; in words too."""
    firm = examined("a", lachman("0"), Finding(sign="pivot_shift", side=Side.RIGHT, state=State.NORMAL))
    hands = audited([firm], look("a", "complete"))
    (surprise,) = hands.surprises
    assert (surprise.lesion, surprise.found, surprise.seen_on) == ("acl_tear", "complete", LATER)
    assert surprise.probability < surprise.before
    assert {each.sign for each in surprise.misled} == {"lachman", "pivot_shift"}
    (words,) = hands_words(hands, protocol=load_protocol(), lesions=load_lesions()).surprises
    assert words.startswith(
        "Right knee, 2 March 2026: MRI of 22 March 2026 showed anterior cruciate ligament"
    )
    assert "What spoke against it: Lachman normal and no pivot shift." in words


def test_an_expected_lesion_is_no_surprise_and_its_degree_is_judged() -> None:
    """What was told as likelier than not is judged by degree as well."""
    gross = examined(
        "a", lachman("3+"), Finding(sign="pivot_shift", side=Side.RIGHT, state=State.ABNORMAL, level="clunk")
    )
    hands = audited([gross], look("a", "complete"))
    assert hands.surprises == ()
    assert hands.told is not None
    assert (hands.told.level_right, hands.told.level_told) == (1, 1)


def test_a_share_starts_from_the_published_one_and_ends_at_the_own() -> None:
    """Without knees it is what the model takes for a new clinic; with thousands, what was counted."""
    used = next(each for each in KNOWLEDGE.accuracy if each.sign == "lachman")
    indicator = KNOWLEDGE.indicators["lachman"]
    nothing = in_own_hands(used, indicator, Cells()).sensitivity
    assert nothing.counted is None
    assert nothing.against is Against.TOO_FEW
    assert nothing.own.estimate == pytest.approx(used.sensitivity, abs=0.03)
    many = in_own_hands(used, indicator, Cells(positive_present=1200, negative_present=2800)).sensitivity
    assert many.own.estimate == pytest.approx(0.30, abs=0.005)
    assert many.against is Against.LOWER
    few = in_own_hands(used, indicator, Cells(positive_present=9, negative_present=0)).sensitivity
    assert few.against is Against.TOO_FEW
    as_published = in_own_hands(used, indicator, Cells(positive_present=33, negative_present=7)).sensitivity
    assert as_published.against is Against.ALIKE


SIGNS = ("lachman", "anterior_drawer", "pivot_shift", "mcmurray_medial", "mcmurray_lateral")
PATIENTS = 150


@cache
def simulated() -> tuple[tuple[Drawn, Workup], ...]:
    """Patients drawn from the model, worked up."""
    model = load_model()
    drawn = draw_examinations(
        model,
        drawable(model, load_protocol(), list(SIGNS), routine=False),
        PATIENTS,
        np.random.default_rng(8),
        patient=Patient(),
        context=Context(setting=Setting.SPORTS_CLINIC, complaint=(Side.RIGHT,)),
        name="simulated",
    )
    return tuple((each, run_workup(replace(each.examination, examined_on=DAY))) for each in drawn)


def test_the_model_audited_with_its_own_patients_is_calibrated_and_counted_right() -> None:
    """Counts equal a tally by hand; what was told comes true as often as told; examining helped."""
    truths = {each.examination.id: dict(each.lesions[Side.RIGHT]) for each, _ in simulated()}
    looks = [
        Confirmation(
            examination=name,
            side=Side.RIGHT,
            on=LATER,
            method=Method.ARTHROSCOPY,
            found={lesion: there.get(lesion, ABSENT) for lesion in load_lesions()},
        )
        for name, there in truths.items()
    ]
    hands = audited([workup for _, workup in simulated()], *looks)
    by_hand = Counter(
        (finding.state, "acl_tear" in truths[each.examination.id])
        for each, _ in simulated()
        for finding in each.examination.findings
        if finding.sign == "pivot_shift" and finding.side is Side.RIGHT
    )
    cells = row(hands, "pivot_shift").cells
    assert cells == Cells(
        positive_present=by_hand[State.ABNORMAL, True],
        negative_present=by_hand[State.NORMAL, True],
        positive_absent=by_hand[State.ABNORMAL, False],
        negative_absent=by_hand[State.NORMAL, False],
        untestable=by_hand[State.UNTESTABLE, True],
    )
    told = hands.told
    assert told is not None
    assert told.statements == PATIENTS * len(load_lesions())
    for each in told.bins:
        assert each.came_true.low - 0.02 <= each.said <= each.came_true.high + 0.02
    assert told.brier.brier < told.before
    assert told.gain is not None
    assert told.gain.low > 0


def test_a_percentage_lies_between_the_ends_told_with_it() -> None:
    """Beside "over 99%" stood "97 to 99", and of six in six knees it was there in "over 99%"."""
    sag = Finding(sign="posterior_sag", side=Side.RIGHT, state=State.NORMAL)
    names = "abcdef"
    hands = audited(
        [examined(name, lachman("2+"), sag) for name in names],
        *(look(name, "complete") for name in names),
        *(look(name, ABSENT, lesion="pcl_tear", on=LATER + timedelta(days=1)) for name in names),
    )
    words = hands_words(hands, protocol=load_protocol(), lesions=load_lesions())
    (own,) = (each.specificity.own for each in words.signs if each.sign == "posterior_sag")
    assert own.startswith("over 99%")
    assert own == "over 99%" or own.endswith("to over 99)")
    assert any(told.startswith("6 of 6, 100% (") and told.endswith(" to 100)") for _, told in words.bins)
    assert any(told.startswith("0 of 6, 0% (0 to ") for _, told in words.bins)
