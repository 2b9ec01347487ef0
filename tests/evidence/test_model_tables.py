"""The tables of the knee model: published numbers are those of the evidence they name; nothing dangles."""

from __future__ import annotations

import shutil
from itertools import chain, pairwise
from pathlib import Path
from typing import Any

import pytest

from fabella.anatomy import load_lesions
from fabella.errors import EvidenceError
from fabella.evidence import RECALLED, Accuracy, Edition, Provenance, pool_model
from fabella.evidence.facts import AccuracyUsed
from fabella.evidence.footings import tables
from fabella.evidence.knowledge import load_knowledge, read_knowledge
from fabella.evidence.links import LEAK, first_image
from fabella.evidence.loader import LATEST, edition_folder
from fabella.evidence.rates import AGE_BANDS, RATE_COLUMNS
from fabella.infer.context import AGE_BANDS_YEARS, REFERENCES
from fabella.protocol import load_protocol

KNOWLEDGE = load_knowledge()
LESIONS = load_lesions()
EVERY: tuple[Any, ...] = tuple(row for rows in tables(KNOWLEDGE).values() for row in rows)
WORKED_OUT = {
    "external_rotation_recurvatum": "sensitivity and specificity come from two sources",
    "ege": "the two sides are put together",
}
"""Derived accuracies that equal no single row; what was done stands in their notes."""


def used_id(used: AccuracyUsed) -> str:
    """A readable name for a test of one accuracy used."""
    return f"{used.sign}-{used.setting or 'anywhere'}"


def behind(edition: Edition, used: AccuracyUsed) -> list[Accuracy]:
    """The evidence rows that an accuracy used names."""
    sign, target, level = used.row.split("/")
    rows = edition.accuracy_for(sign, target, finding_level=level)
    return [row for row in rows if row.source.key in used.keys]


def of(provenance: Provenance) -> list[Any]:
    """The accuracies used of one provenance, as test parameters."""
    return [
        pytest.param(used, id=used_id(used)) for used in KNOWLEDGE.accuracy if used.provenance is provenance
    ]


@pytest.mark.parametrize("used", of(Provenance.PUBLISHED))
def test_a_published_accuracy_is_that_of_its_evidence_row(used: AccuracyUsed, edition: Edition) -> None:
    """Sensitivity, specificity, both intervals and the knees are those of one published row of the evidence.

    Where the row does not count its knees, its description of them does.
    """
    same = [row for row in behind(edition, used) if row.pair == (used.sensitivity, used.specificity)]
    assert same, f"{used.row} of {used.keys} has other numbers"
    row = same[0]
    assert row.provenance is Provenance.PUBLISHED
    assert row.sensitivity is not None
    assert row.specificity is not None
    for found, bounds in (
        (row.sensitivity, used.sensitivity_bounds),
        (row.specificity, used.specificity_bounds),
    ):
        ends = (found.low, found.high)
        assert bounds == (None if None in ends else ends)
    assert used.n == row.knees or (row.knees is None and f"{used.n} volunteers" in row.population)
    assert (RECALLED in used.source) == row.recalled


@pytest.mark.parametrize("used", of(Provenance.DERIVED))
def test_a_derived_accuracy_follows_from_its_evidence_rows(used: AccuracyUsed, edition: Edition) -> None:
    """It is pooled from their counts, worked out of both likelihood ratios, or a row's with another target.

    From LR+ = s/(1 - c) and LR- = (1 - s)/c the sensitivity s = (1 - LR-) LR+/(LR+ - LR-) and the specificity
    c = (LR+ - 1)/(LR+ - LR-).
    """
    rows = behind(edition, used)
    assert rows
    assert used.note
    if used.sign in pool_model.POOLED or used.sign in WORKED_OUT:
        return
    row = rows[0]
    ratio = row.likelihood_ratio
    if row.pair is None and ratio is not None and ratio.positive is not None and ratio.negative is not None:
        plus, minus = ratio.positive.value, ratio.negative.value
        assert plus is not None
        assert minus is not None
        assert used.sensitivity == pytest.approx((1 - minus) * plus / (plus - minus), abs=0.0006)
        assert used.specificity == pytest.approx((plus - 1) / (plus - minus), abs=0.0006)
    else:
        assert row.pair == (used.sensitivity, used.specificity)


def test_the_two_sides_of_the_squatting_test_are_put_together_as_noted() -> None:
    """Akseki 2004: medial 0.67 and 0.81, lateral 0.64 and 0.90: mean and product."""
    (ege,) = (used for used in KNOWLEDGE.accuracy if used.sign == "ege")
    assert ege.sensitivity == pytest.approx((0.67 + 0.64) / 2)
    assert ege.specificity == pytest.approx(0.81 * 0.90)


def test_the_pooled_rows_are_not_stale() -> None:
    """What we pooled is what the studies give today; else run ``python -m fabella.evidence.pool_model``."""
    pool_model.main(["--check"])


def test_only_sound_studies_are_pooled(edition: Edition) -> None:
    """The outlying series of 242 knees, inventors and knees under anaesthesia are left out; enough remain."""
    for sign in pool_model.POOLED:
        pooled = {row.source.key for row in pool_model.studies(edition, sign)}
        assert len(pooled) >= pool_model.ENOUGH
        assert not pooled & {"lever_242_knees", "lelli_2016", "katz_1986", "kim_1995"}


def test_every_row_says_what_it_rests_on(edition: Edition) -> None:
    """A judgement names no source, everything else at least one, and every source named exists."""
    for row in EVERY:
        assert bool(row.keys) == (row.provenance is not Provenance.JUDGEMENT), row
        assert set(row.keys) <= set(edition.sources)
        assert row.source
    assert all(row.note for row in EVERY if row.provenance is Provenance.DERIVED)


def test_published_company_is_that_of_the_evidence(edition: Edition) -> None:
    """A published pair has the value of a row of its source, recalled where that row is."""
    for pair in KNOWLEDGE.company:
        if pair.provenance is Provenance.PUBLISHED:
            rows = [row for row in edition.cooccurrence if row.source.key in pair.keys]
            same = [row for row in rows if row.estimate.value == pair.value]
            assert same, f"{pair.given} with {pair.also}"
            assert (RECALLED in pair.source) == same[0].recalled


def test_published_rates_are_those_of_the_evidence(edition: Edition) -> None:
    """A published rate has the value of a prevalence row of its source; nobody publishes odds of visits."""
    for base in KNOWLEDGE.base_rates.values():
        for column, footing in base.rests.items():
            if footing.provenance is Provenance.PUBLISHED:
                found = {row.share.value for row in edition.prevalence if row.source.key in footing.keys}
                assert base.rates.get(column) in found, f"{base.lesion}: {column}"


def test_names_exist() -> None:
    """Signs are of the protocol, lesions and their levels of the anatomy, manifestations of their table."""
    signs = {sign.id for sign in load_protocol().signs}
    assert set(KNOWLEDGE.signs) <= signs
    assert {used.sign for used in KNOWLEDGE.accuracy} <= set(KNOWLEDGE.indicators)
    shown = {name for each in KNOWLEDGE.indicators.values() for name, _ in each.manifestations}
    assert shown | {cause.manifestation for cause in KNOWLEDGE.causes} <= set(KNOWLEDGE.manifestations)
    named = {
        *chain.from_iterable(used.targets for used in KNOWLEDGE.accuracy),
        *chain.from_iterable((pair.given, pair.also) for pair in KNOWLEDGE.company),
        *(image.lesion for image in KNOWLEDGE.images),
    }
    assert named <= set(LESIONS)
    for cause in KNOWLEDGE.causes:
        assert set(cause.without) <= set(LESIONS) - {lesion for lesion, _ in cause.parts}, cause
        for lesion, level in cause.parts:
            assert level in {"", *(each.id for each in LESIONS[lesion].levels)}, f"{lesion}:{level}"
    references = {used.reference for used in KNOWLEDGE.accuracy}
    assert references | {pair.reference for pair in KNOWLEDGE.company} <= set(REFERENCES)


def test_every_lesion_is_known_in_full() -> None:
    """Each has causes, rates in every column, mechanisms and shares of its levels, which add up to 1."""
    causing = {lesion for cause in KNOWLEDGE.causes for lesion, _ in cause.parts}
    levels = {f"{name}:{level.id}" for name, lesion in LESIONS.items() for level in lesion.levels}
    assert set(LESIONS) == causing == set(KNOWLEDGE.base_rates) == set(KNOWLEDGE.mechanisms) - levels
    for name, lesion in LESIONS.items():
        base = KNOWLEDGE.base_rates[name]
        assert set(base.rates) == set(RATE_COLUMNS)
        for band in (None, *range(len(AGE_BANDS))):
            for split in base.splits(band):
                assert len(split) == len(lesion.levels)
                assert sum(split) == pytest.approx(1)
    for name, shares in KNOWLEDGE.mechanisms.items():
        assert sum(shares.values()) == pytest.approx(1, abs=0.002), name


def test_shares_of_levels_by_age_say_something() -> None:
    """Bands of age are those of the prior, and shares at an age differ from those of the lesion's row."""
    assert len(AGE_BANDS) == len(AGE_BANDS_YEARS) + 1
    assert [band.partition("_")[0] for band in AGE_BANDS[1:]] == [f"{edge:.0f}" for edge in AGE_BANDS_YEARS]
    for base in KNOWLEDGE.base_rates.values():
        for band in base.shares_by_age:
            assert base.splits(band) != base.splits(None), base.lesion


def test_every_manifestation_leaks_and_never_grows_surer_with_its_level() -> None:
    """Each has a leak and as many chances as levels at most; a higher level is never surer than a lower."""
    leaking = {cause.manifestation for cause in KNOWLEDGE.causes if not cause.parts}
    assert leaking == set(KNOWLEDGE.manifestations)
    for cause in KNOWLEDGE.causes:
        assert 1 <= len(cause.at_least) == KNOWLEDGE.manifestations[cause.manifestation], cause
        assert all(higher <= lower for lower, higher in pairwise(cause.at_least)), cause


def test_no_number_is_worth_more_knees_than_a_study_could_count() -> None:
    """Imagined knees run from 1 to 200, and no cause stands twice; levels a sign needs exist."""
    strengths = [cause.strength for cause in KNOWLEDGE.causes]
    strengths += [each.strength for each in KNOWLEDGE.indicators.values()]
    assert all(1 <= strength <= 200 for strength in strengths)
    named = [(cause.manifestation, cause.acuity, cause.parts) for cause in KNOWLEDGE.causes]
    assert len(set(named)) == len(named)
    for each in KNOWLEDGE.indicators.values():
        assert max(KNOWLEDGE.manifestations[name] for name, _ in each.manifestations) >= each.from_level
    assert LEAK not in LESIONS


def test_every_image_tells_something() -> None:
    """Sensitivity and specificity of an image add up to more than 1, and neither is perfect."""
    for image in KNOWLEDGE.images:
        assert image.sensitivity + image.specificity > 1.2
        assert max(image.sensitivity, image.specificity) < 1
        assert image.minutes > 0


def test_first_images_are_of_lesions_and_images_that_are_known() -> None:
    """Each lesion has one first image at a level; signs that record an image are of the protocol."""
    places = [(each.lesion, each.level) for each in KNOWLEDGE.first_images]
    assert len(set(places)) == len(places)
    for lesion, level in places:
        assert level in {"", *(each.id for each in LESIONS[lesion].levels)}, f"{lesion}:{level}"
    assert {each.image for each in KNOWLEDGE.first_images} <= {each.image for each in KNOWLEDGE.images}
    assert {each.sign for each in KNOWLEDGE.images} - {""} <= {sign.id for sign in load_protocol().signs}


def test_a_first_image_that_nobody_knows_is_refused() -> None:
    """A wrong lesion or image is refused with the nearest right name."""
    read = first_image({"acl_tear"}, {"mri"})
    row = {"lesion": "acl_tear", "level": "", "image": "mri", "how": ""}
    rests = {"provenance": Provenance.JUDGEMENT, "source": "common practice"}
    assert read(row, rests).image == "mri"
    with pytest.raises(ValueError, match="no lesion 'acl_tare'; did you mean 'acl_tear'"):
        read({**row, "lesion": "acl_tare"}, rests)
    with pytest.raises(ValueError, match="no image 'mir'; did you mean 'mri'"):
        read({**row, "image": "mir"}, rests)


TABLES = sorted(each.stem for each in Path(str(edition_folder(LATEST))).glob("model/*.csv"))


def _with_line(folder: Path, table: str, line: str) -> Path:
    """A copy of the edition in which one more line stands at the end of a table."""
    edition = folder / "edition"
    shutil.copytree(Path(str(edition_folder(LATEST))), edition)
    with (edition / "model" / f"{table}.csv").open("a", encoding="utf-8") as file:
        file.write(f"{line}\n")
    return edition


@pytest.mark.parametrize("table", TABLES)
def test_a_row_that_stands_twice_is_refused(table: str, tmp_path: Path) -> None:
    """A cause that is written twice would count twice, and of two rates only the last would be believed."""
    *_, last = (Path(str(edition_folder(LATEST))) / "model" / f"{table}.csv").read_text("utf-8").splitlines()
    with pytest.raises(EvidenceError, match=rf"model/{table}\.csv line \d+: stands here twice: \w+"):
        read_knowledge(_with_line(tmp_path, table, last))


@pytest.mark.parametrize(
    ("line", "cells"),
    [("arthroscopy,gout,0.1,judgement,common practice,,slow, and late", 8), ("arthroscopy,gout", 2)],
)
def test_a_row_in_pieces_is_refused(line: str, cells: int, tmp_path: Path) -> None:
    """What stands behind a comma that nobody meant is not left out in silence."""
    with pytest.raises(EvidenceError, match=f"mended.csv line .*: {cells} cells where the header has 7"):
        read_knowledge(_with_line(tmp_path, "mended", line))


@pytest.mark.parametrize(
    ("table", "line", "says"),
    [
        (
            "prevalence_rests",
            "acl_tear,odds_femal,judgement,,,",
            "'odds_femal'; did you mean 'odds_female'",
        ),
        ("prevalence_rests", "acl_tear,odds_30_39,judgement,,,", "no rate 'odds_30_39'"),
        ("prevalence_replaced", "osteoarthritis,odds_female,0.1,judgement,,,", "no rate 'odds_female'"),
        ("odds_by_sex", "acl_tear,60_99,2,judgement,,,", "no age band '60_99'"),
        ("odds_by_sex", "acl_tear,60,0,judgement,,,", "0 are no odds"),
        ("odds_by_sex", "acl_tare,60,2,judgement,,,", "no lesion 'acl_tare'; did you mean 'acl_tear'"),
    ],
)
def test_odds_that_mean_nothing_are_refused(table: str, line: str, says: str, tmp_path: Path) -> None:
    """Odds of an unknown column, of the band all others are compared with, of no age or of nobody."""
    with pytest.raises(EvidenceError, match=says):
        read_knowledge(_with_line(tmp_path, table, line))


def test_women_and_men_differ_otherwise_at_some_ages() -> None:
    """Every row of odds by sex says something else than the row of the lesion; None is any age."""
    for base in KNOWLEDGE.base_rates.values():
        assert base.women_to_men(None) == base.odds_female
        for band, own in base.women_by_age.items():
            assert base.women_to_men(band) == own.odds_female
    femur = KNOWLEDGE.base_rates["distal_femoral_fracture"]
    assert femur.women_to_men(AGE_BANDS.index("10_17")) < 1 < femur.women_to_men(AGE_BANDS.index("60"))


def test_a_table_of_the_model_that_is_no_text_is_named(tmp_path: Path) -> None:
    """A file saved in another encoding is refused as any other table is, and not with a traceback."""
    edition = _with_line(tmp_path, "aspects", "x")
    (edition / "model/aspects.csv").write_bytes(b"sign,aspect,levels\ngen\xe9ral,a,b\n")
    with pytest.raises(EvidenceError, match=r"model/aspects\.csv: .* is not UTF-8; save the file as UTF-8"):
        read_knowledge(edition)
