"""What the board reads of the judges who set a pass mark by Angoff's method."""

from __future__ import annotations

from dataclasses import replace

from fabella.assess import Analysis, CutMethod, Estimates, Rules, analyse
from fabella.papers.judges import judge_rows, judge_words
from tests.assess.judged_exam import ESTIMATES, GRADED, marks_of
from tests.assess.made import made_marks


def judged(*rounds: Estimates) -> Analysis:
    """The small exam, its pass mark set by rounds of estimates."""
    return analyse(marks_of(GRADED), Rules(method=CutMethod.ANGOFF, estimates=rounds, resamples=200))


def test_one_round_is_a_table_of_its_judges() -> None:
    """Numbers as worked by hand in `tests.assess.test_judges`; in the order of the rules, the mean last."""
    assert judge_rows(judged(ESTIMATES)) == (
        ("Judge", "Pass mark", "Off the mean", "Without them", "r"),
        ("Ada", "50.0", "−8.3", "62.5", "1.00"),
        ("Ben", "60.0", "+1.7", "57.5", "–"),
        ("Cyd", "65.0", "+6.7", "55.0", "0.87"),
        ("Mean", "58.3", "", "", "0.96"),
    )


def test_rounds_stand_side_by_side_also_where_the_panel_changed() -> None:
    """Dan took Ada's place in the second round: each has a dash in the round that was not theirs."""
    second = replace(ESTIMATES, judges=("Dan", "Ben", "Cyd"), seen_impact=True)
    found = judged(ESTIMATES, second)
    header, *rows = judge_rows(found)
    assert header == ("Judge", "Round 1", "Round 2", "Off the mean", "Without them", "r")
    assert [row[:4] for row in rows] == [
        ("Dan", "–", "50.0", "−8.3"),
        ("Ben", "60.0", "60.0", "+1.7"),
        ("Cyd", "65.0", "65.0", "+6.7"),
        ("Ada", "50.0", "–", "–"),
        ("Mean", "58.3", "58.3", ""),
    ]
    says = " ".join(judge_words(found))
    assert "Off the mean, without them and r are of round 2." in says
    assert "Before round 2 the judges had seen what the round before would do." in says


def test_judges_of_one_code_stay_two() -> None:
    """Rules written elsewhere may call all judges the same: each keeps a line of their own."""
    alike = replace(ESTIMATES, judges=("judge", "judge", "judge"))
    assert [row[:2] for row in judge_rows(judged(alike))[1:]] == [
        ("judge", "50.0"),
        ("judge (2)", "60.0"),
        ("judge (3)", "65.0"),
        ("Mean", "58.3"),
    ]


def test_words_tell_on_what_r_rests_and_how_judges_agree() -> None:
    """Three stations are said to be few; the agreement comes with its interval; an old round is named."""
    says = " ".join(judge_words(judged(replace(ESTIMATES, items=("A", "B", "old")), ESTIMATES)))
    assert "earned at 3 stations with performances graded borderline" in says
    assert "over so few it may be chance" in says
    assert "Agreement ICC(2,k) 0." in says
    assert "(95% interval below 0 to 0.9" in says
    assert "Round 1 had other stations or items than the exam" in says


def test_what_was_given_other_marks_since_is_named() -> None:
    """Judges who estimated 8 marks at C, where 10 were given, judged something else: the board reads it."""
    assert "other marks" not in " ".join(judge_words(judged(ESTIMATES)))
    says = " ".join(judge_words(judged(replace(ESTIMATES, max_mark=(10, 10, 8)))))
    assert "C has been given other marks since it was estimated: what was estimated is not quite" in says


def test_where_nothing_is_graded_borderline_r_is_a_dash_and_said_to_be_none() -> None:
    """Without a borderline sheet there is no r for anybody, and no number in its place."""
    cells = {name: [each.replace(",1", ",2") for each in sheets] for name, sheets in GRADED.items()}
    rules = Rules(method=CutMethod.ANGOFF, estimates=(ESTIMATES,), resamples=200)
    found = analyse(marks_of(cells), rules)
    assert {row[-1] for row in judge_rows(found)[1:]} == {"–"}
    assert "(r) cannot be told over 0 stations with performances graded borderline" in " ".join(
        judge_words(found)
    )


def test_another_method_has_no_judges() -> None:
    """Where Angoff's method did not set the pass mark nothing is told of judges, though they estimated."""
    found = analyse(made_marks(stations=3), Rules(estimates=(ESTIMATES,), resamples=200))
    assert judge_rows(found) == ()
    assert list(judge_words(found)) == []
