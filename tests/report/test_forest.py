"""Rival sources drawn side by side: every mark stands at the number its source prints."""

import pytest

from fabella.evidence import load_edition, rank
from fabella.evidence.knowledge import load_knowledge
from fabella.evidence.pool_model import studies
from fabella.report.forest import Forest, Mark, forests
from fabella.report.whiskers import LARGEST_PX, SMALLEST_PX, side_px
from fabella.stats import wilson

EDITION, KNOWLEDGE = load_edition(), load_knowledge()
SIGNS = sorted({row.sign_id for row in EDITION.accuracy} | {used.sign for used in KNOWLEDGE.accuracy})


def lachman() -> Forest:
    """The Lachman test for any tear of the anterior cruciate ligament."""
    return next(each for each in forests(EDITION, KNOWLEDGE, "lachman") if each.target == "acl_tear")


@pytest.mark.parametrize("sign", SIGNS)
def test_every_source_stands_where_its_numbers_are(sign: str) -> None:
    """Each printed share and interval is found again from its place on the scale; nothing else is drawn."""
    for found in forests(EDITION, KNOWLEDGE, sign):
        rows = EDITION.accuracy_for(found.sign, found.target, finding_level=found.read)
        ordered = [each.accuracy for each in rank(rows).ordered]
        for row, printed in zip(found.rows, ordered, strict=True):
            assert row.source is printed.source
            for drawn, share in (
                (row.sensitivity, printed.sensitivity),
                (row.specificity, printed.specificity),
            ):
                if share is None:
                    assert (drawn.at, drawn.low, drawn.high, drawn.words) == (None, None, None, "not stated")
                    continue
                assert drawn.at == (None if share.value is None else pytest.approx(100 * share.value))
                if share.low is not None or share.high is not None:
                    ends = [None if each is None else 100 * each for each in (share.low, share.high)]
                    assert [drawn.low, drawn.high] == pytest.approx(ends)


@pytest.mark.parametrize("sign", sorted({used.sign for used in KNOWLEDGE.accuracy}))
def test_what_the_model_uses_is_marked(sign: str) -> None:
    """Every number the model takes for a sign stands below a question of which a source is marked."""
    taken = [each for each in KNOWLEDGE.accuracy if each.sign == sign]
    shown = [
        (used.where, used.sensitivity.at, used.specificity.at)
        for each in forests(EDITION, KNOWLEDGE, sign)
        for used in each.used
        if used.sign == sign
    ]
    for each in taken:
        where = each.setting.replace("_", " ") or "anywhere"
        assert (where, round(100 * each.sensitivity, 2), round(100 * each.specificity, 2)) in shown
    for found in forests(EDITION, KNOWLEDGE, sign):
        if found.used:
            assert {row.mark for row in found.rows} & {Mark.USED, Mark.POOLED}


def test_the_pooled_studies_of_the_lachman_test_are_marked() -> None:
    """The five studies pooled by us are marked so, with the interval of their counts; no other is used."""
    found = lachman()
    pooled = [row for row in found.rows if row.mark is Mark.POOLED]
    assert {row.source.key for row in pooled} == {row.source.key for row in studies(EDITION, "lachman")}
    assert not [row for row in found.rows if row.mark is Mark.USED]
    assert [each.by_us for each in found.used] == [True]
    zhao = next(row for row in pooled if row.source.key == "zhao_2021")
    counted = wilson(successes=117, n=148)
    assert zhao.counts == (117, 27, 31, 225)
    assert (zhao.sensitivity.low, zhao.sensitivity.high) == pytest.approx(
        (100 * counted.low, 100 * counted.high), abs=0.05
    )
    assert zhao.sensitivity.ends == "interval from its counts"


def test_cautioned_sources_are_shown_and_never_used() -> None:
    """The outlying series of 242 knees is there, barred, with the reason why."""
    outlier = next(row for row in lachman().rows if row.source.key == "lever_242_knees")
    assert outlier.mark is Mark.BARRED
    assert "outlier" in outlier.place


def test_a_number_from_memory_says_so() -> None:
    """Rows that were recalled carry the words for it; plainly published ones carry none."""
    for sign in SIGNS:
        for found in forests(EDITION, KNOWLEDGE, sign):
            for row in found.rows:
                assert row.standing != "published"
    sag = forests(EDITION, KNOWLEDGE, "posterior_sag")[0].rows
    assert any("from memory, original not re-read" in row.standing for row in sag)


def test_the_area_of_a_mark_goes_with_the_knees() -> None:
    """Four times the knees, four times the area, between a smallest and a largest mark."""
    assert side_px(400) == pytest.approx(2 * side_px(100))
    assert (side_px(None), side_px(3), side_px(10_000)) == (SMALLEST_PX, SMALLEST_PX, LARGEST_PX)


def test_borrowed_questions_are_shown_with_the_sign_that_borrows() -> None:
    """Tenderness of one joint line shows the sources for either line, from which its number is taken."""
    asked = {each.sign for each in forests(EDITION, KNOWLEDGE, "joint_line_tenderness_medial")}
    assert asked == {"joint_line_tenderness_medial", "joint_line_tenderness"}


def test_the_dial_test_at_both_angles_is_asked_of_what_its_source_joins() -> None:
    """Positive at both angles: corner with posterior cruciate, medial injury, or either of the two."""
    # Norris 2018 J ISAKOS 3(4):198-204: three rows for this finding; the third joins the two before it.
    joined, medial, either = (each.words for each in forests(EDITION, KNOWLEDGE, "dial_30_and_90"))
    assert joined == "combined posterolateral corner and posterior cruciate ligament injury"
    assert medial == "medial knee injury"
    assert either == f"{joined}, or medial injury"


def test_questions_are_asked_in_words() -> None:
    """No heading of any question holds an abbreviation of the tables, and nobody is “mixed, mixed”."""
    found = [each for sign in SIGNS for each in forests(EDITION, KNOWLEDGE, sign)]
    words = {word for each in found for word in each.words.split()}
    assert words & {"acl", "pcl", "mcl", "plc", "oa", "us", "msu"} == set()
    assert [row.whom for each in found for row in each.rows if "mixed" in row.whom or "_" in row.whom] == []
