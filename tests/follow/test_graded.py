from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabella.follow import ChangeVerdict, ChangeWhy, follow
from fabella.follow.graded import MOST_CHANCE, SHARES, agreement_on
from fabella.record import Finding, State
from tests.follow.notation import EDITION, PROTOCOL, RIGHT, followed, graded, graded_change, read, visit

BETTER, WORSE = ChangeVerdict.TRUE_CHANGE_BETTER, ChangeVerdict.TRUE_CHANGE_WORSE
ERROR, CANNOT = ChangeVerdict.NO_LARGER_THAN_MEASUREMENT_ERROR, ChangeVerdict.CANNOT_JUDGE
OPPOSITE = {BETTER: WORSE, WORSE: BETTER, ERROR: ERROR, CANNOT: CANNOT}
GRADED = [sign for sign in PROTOCOL.signs if sign.scale.levels and not sign.is_history and not sign.is_person]
GRADED = [sign for sign in GRADED if sign.kind != "courtesy"]

signs = st.sampled_from([sign.id for sign in GRADED])


@st.composite
def pairs(draw: st.DrawFn) -> tuple[str, tuple[str, str]]:
    """A graded sign and two of its levels."""
    sign = draw(signs)
    levels = st.sampled_from([level.id for level in PROTOCOL.sign(sign).scale.levels])
    return sign, (draw(levels), draw(levels))


@given(pairs(), st.sampled_from([None, "A"]))
def test_the_same_grade_twice_is_never_a_true_change(
    pair: tuple[str, tuple[str, str]], examiner: str | None
) -> None:
    """Any sign graded the same at both visits has not changed."""
    sign, (level, _) = pair
    change = graded_change(sign, (level, level), examiner=examiner)
    assert (change.verdict, change.reasons, change.better_by) == (ERROR, (ChangeWhy.SAME_GRADE,), 0)


@given(pairs(), st.sampled_from([None, "A"]))
def test_swapping_the_visits_swaps_better_and_worse(
    pair: tuple[str, tuple[str, str]], examiner: str | None
) -> None:
    """A grade lost forwards in time is a grade gained backwards."""
    sign, levels = pair
    there = graded_change(sign, levels, examiner=examiner)
    back = graded_change(sign, levels[::-1], examiner=examiner)
    assert (back.verdict, back.agreement) == (OPPOSITE[there.verdict], there.agreement)


@given(pairs())
def test_what_counts_would_rarely_show_in_an_unchanged_knee(pair: tuple[str, tuple[str, str]]) -> None:
    """A true change is one that examiners' disagreement would show in at most a tenth of unchanged knees."""
    change = graded_change(*pair)
    if change.verdict in {BETTER, WORSE}:
        assert change.agreement is not None
        assert change.agreement.chance <= MOST_CHANCE


def test_one_grade_of_a_poorly_agreed_sign_is_no_change() -> None:
    """McMurray positive, then negative: with kappa 0.16 two examiners differ on 42 of 100 knees."""
    # Dervin 2001: kappa 0.16; (1 - 0.16) x (1 - 1/2) = 0.42.
    change = graded_change("mcmurray", ("yes", "no"))
    assert change.agreement is not None
    assert change.agreement.disagreement == pytest.approx(0.42)
    assert (change.verdict, change.reasons) == (ERROR, (ChangeWhy.WITHIN_DISAGREEMENT,))


def test_a_lachman_may_lose_one_grade_by_the_examiner_alone_but_not_two() -> None:
    """From 2+ to 1+ is what examiners differ by; from 2+ to 0 is a change."""
    one, two = graded_change("lachman", ("2+", "1+")), graded_change("lachman", ("2+", "0"))
    assert (one.verdict, one.better_by) == (ERROR, 1)
    assert (two.verdict, two.better_by) == (BETTER, 2)


def test_the_disagreement_is_the_median_of_what_is_published() -> None:
    """Seven kappas and one raw agreement of the Lachman test, each turned into knees graded differently."""
    # Kappas: Cavelti 2023 .64; Cooperman 1990 .69 .61 .42; Dervin 2001 -.08; Lichtenberg 2018 .77;
    # Mulligan 2015 .52; raw agreement: Peeler 2010 .45. Four grades: (1 - kappa) x 3/4.
    # By hand: .1725 .2325 .27 .2925 | .36 .435 .55 .81
    found = agreement_on("lachman", grades=1, levels=4, edition=EDITION, same=False)
    assert found.disagreement == pytest.approx((0.2925 + 0.36) / 2)
    assert found.published == 8
    authors = [each.split()[0] for each in found.sources]
    expected = ("Cavelti", "Cooperman", "Dervin", "Lichtenberg", "Mulligan", "Peeler")
    assert [name for name in expected if name not in authors] == []


def test_the_rule_for_disagreement_by_two_grades_is_the_published_share() -> None:
    """Of 75 knees graded twice on five grades 54 agreed and 5 differed by two grades: 5 of 21."""
    # Sturgill 2009 J Orthop Sports Phys Ther (sweep test).
    assert SHARES[2] == 5 / (75 - 54)
    one = agreement_on("effusion_sweep", grades=1, levels=5, edition=EDITION, same=False)
    two = agreement_on("effusion_sweep", grades=2, levels=5, edition=EDITION, same=False)
    assert two.chance == pytest.approx(one.chance * 5 / 21)


def test_one_examiner_disagrees_no_more_with_himself_than_with_others() -> None:
    """Within one examiner the better of both published agreements stands, between two the one between."""
    for sign in GRADED:
        levels = len(sign.scale.levels)
        one = agreement_on(sign.id, grades=1, levels=levels, edition=EDITION, same=True)
        two = agreement_on(sign.id, grades=1, levels=levels, edition=EDITION, same=False)
        assert one.disagreement <= two.disagreement


def test_without_published_agreement_only_three_grades_count() -> None:
    """Were examiners to agree by luck alone, three grades would still be rare: one and two are not judged."""
    bare = replace(EDITION, reliability=())
    verdicts = []
    for level in ("2+", "1+", "0"):
        visits = [visit(0, graded("lachman", "3+")), visit(6, graded("lachman", level))]
        (change,) = follow(visits, edition=bare, protocol=PROTOCOL).grades[0].steps
        assert ChangeWhy.AGREEMENT_UNKNOWN in change.reasons
        verdicts.append(change.verdict)
    assert [CANNOT, CANNOT, BETTER] == verdicts


def test_a_grade_not_given_or_not_testable_cannot_be_judged() -> None:
    """'Abnormal, grade not given' and 'could not be tested' are no grades."""
    ungraded = graded_change("lachman", (State.ABNORMAL, "1+"))
    untested = graded_change("lachman", (State.UNTESTABLE, "0"))
    assert (ungraded.verdict, ungraded.reasons) == (CANNOT, (ChangeWhy.GRADE_NOT_GIVEN,))
    assert (untested.verdict, untested.reasons) == (CANNOT, (ChangeWhy.COULD_NOT_BE_TESTED,))


def test_a_plain_yes_needs_no_grade() -> None:
    """Abnormal without a level is the one abnormal level of a sign that has no degrees."""
    assert graded_change("mcmurray", (State.ABNORMAL, State.NORMAL)).better_by == 1


def test_not_examined_is_no_point_of_a_series() -> None:
    """A sign left out at a visit, in words or in silence, has no grade there."""
    skipped = Finding(sign="mcmurray", side=RIGHT, state=State.NOT_EXAMINED)
    course = followed(visit(0, graded("mcmurray", "yes")), visit(6, skipped), visit(12))
    (series,) = course.grades
    assert (len(series.points), series.steps) == (1, ())


def test_readings_at_every_visit_speak_for_the_grade() -> None:
    """Millimetres at each visit make a series of readings, not a second one of grades."""
    lachman = replace(graded("lachman", "2+"), value=9.0, unit="mm", method="by hand")
    later = replace(graded("lachman", "0"), value=2.0, unit="mm", method="by hand")
    course = followed(visit(0, lachman), visit(26, later))
    assert ([series.sign for series in course.measures], course.grades) == (["lachman"], ())
    mixed = followed(visit(0, lachman), visit(26, graded("lachman", "0")))
    assert [series.sign for series in mixed.grades] == ["lachman"]
    assert mixed.grades[0].steps[0].verdict is BETTER


def test_a_reading_without_a_state_is_no_grade() -> None:
    """Millimetres that the examiner did not grade are read by the grading, not followed as a grade."""
    course = followed(visit(0, read("lachman", 9, unit="mm")), visit(26, read("lachman", 2, unit="mm")))
    assert course.grades == ()


def test_a_test_that_could_not_be_done_at_first_hides_nothing_of_what_came_after() -> None:
    """What is told since the first visit is told since the first grade; a later gap is a gap."""
    levels: tuple[str | State, ...] = (State.UNTESTABLE, "3+", "1+", State.UNTESTABLE, "0")
    course = followed(*(visit(6 * number, graded("lachman", each)) for number, each in enumerate(levels)))
    (series,) = course.grades
    days = [point.day for point in series.points]
    assert [each.verdict for each in series.steps] == [CANNOT, BETTER, CANNOT, CANNOT]
    assert [each.verdict for each in series.from_first] == [CANNOT, BETTER, CANNOT, BETTER]
    assert [each.since for each in series.from_first] == [days[0], days[1], days[1], days[1]]
    never = followed(*(visit(6 * number, graded("lachman", State.UNTESTABLE)) for number in range(3)))
    assert [each.verdict for each in never.grades[0].from_first] == [CANNOT, CANNOT]
