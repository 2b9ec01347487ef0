import dataclasses
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from fabella.errors import EvidenceError, InputError
from fabella.evidence import (
    RECALLED,
    Accuracy,
    Caution,
    Cooccurrence,
    Counts2x2,
    Edition,
    Estimate,
    EvidenceKind,
    GradeBand,
    LikelihoodRatio,
    MeasurementError,
    Milestone,
    Norm,
    Prevalence,
    Provenance,
    Reliability,
    RuleCriterion,
    Source,
    Sourced,
)
from fabella.evidence.footings import tables
from fabella.evidence.knowledge import load_knowledge
from fabella.evidence.rows import KINDS

TYPES = {
    "accuracy": Accuracy,
    "prevalence": Prevalence,
    "cooccurrence": Cooccurrence,
    "norms": Norm,
    "measurement_error": MeasurementError,
    "reliability": Reliability,
    "recovery": Milestone,
    "grading": GradeBand,
    "decision_rules": RuleCriterion,
}


def rows(edition: Edition) -> list[Sourced]:
    """Every row of every table of an edition."""
    return [row for kind in KINDS for row in getattr(edition, kind)]


def parts(row: Sourced) -> list[Sourced]:
    """A row and every sourced number in it."""
    held = [getattr(row, field.name) for field in dataclasses.fields(row)]
    return [row, *(part for each in held if isinstance(each, Sourced) for part in parts(each))]


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("field", ["source", "provenance"])
@pytest.mark.parametrize("instead", [None, "Sokal 2022", ""])
def test_no_row_exists_without_source_and_provenance(
    kind: str, field: str, instead: object, edition: Edition
) -> None:
    """Every kind of row refuses to be built with anything but a source and a provenance."""
    row: Any = getattr(edition, kind)[0]
    assert type(row) in TYPES.values()
    change: dict[str, Any] = {field: instead}
    with pytest.raises(EvidenceError, match=f"as its {field}"):
        dataclasses.replace(row, **change)


@pytest.mark.parametrize(
    ("kind", "numbers"),
    [
        (Estimate, {"value": 0.5}),
        (Counts2x2, {"tp": 1, "fp": 1, "fn": 1, "tn": 1}),
        (LikelihoodRatio, {"positive": None, "negative": None}),
    ],
)
def test_no_number_exists_without_source(kind: Callable[..., Sourced], numbers: dict[str, object]) -> None:
    """Estimates, counts and ratios need source and provenance, by name, even where all else is right."""
    with pytest.raises(TypeError, match="source"):
        kind(**numbers)
    with pytest.raises(EvidenceError, match="as its source"):
        kind(**numbers, source=None, provenance=Provenance.PUBLISHED)


def test_every_row_resolves_to_a_listed_source(edition: Edition) -> None:
    """Every row, and every number in it, points to the very source that the list holds under that key."""
    assert all(edition.source(part.source.key) is part.source for row in rows(edition) for part in parts(row))


def test_no_source_is_listed_for_nothing(edition: Edition) -> None:
    """Every listed source has at least one row, or the tables of the knee model name it."""
    model: list[Any] = [row for rows_of_table in tables(load_knowledge()).values() for row in rows_of_table]
    named = {key for row in model for key in row.keys}
    noted = {key for row in model for key in edition.sources if key in row.note}
    assert {row.source.key for row in rows(edition)} | named | noted == set(edition.sources)


def test_sources_say_what_they_are(edition: Edition) -> None:
    """Every source has a citation and a kind; whatever carries a caution says why; guidelines are few."""
    sources = edition.sources.values()
    assert all(source.citation and isinstance(source.kind, EvidenceKind) for source in sources)
    cautioned = {source.key: source.caution for source in sources if source.caution is not Caution.NONE}
    assert cautioned == {
        "karachalios_2005": Caution.HEALTHY_CONTROLS,
        "lelli_2016": Caution.INVENTOR,
        "lever_242_knees": Caution.OUTLIER,
    }
    assert all(edition.source(key).remark for key in cautioned)


def test_no_identifier_belongs_to_two_sources(edition: Edition) -> None:
    """A paper is listed once, save the one quoted in another's table."""
    identifiers = [source.identifier for source in edition.sources.values() if source.identifier]
    twice = {each for each in identifiers if identifiers.count(each) > 1}
    assert twice == {"doi:10.1371/journal.pone.0190892"}
    assert edition.source("boling_2010").citation.endswith(
        "as tabulated by Smith 2018 PLoS One 13(1):e0190892"
    )


def test_recalled_rows_say_so(edition: Edition) -> None:
    """A value from memory stays published, says so wherever it is shown, and so do the numbers in it."""
    recalled = [row for row in rows(edition) if row.recalled]
    assert len(recalled) == 136  # regression: as many as the survey had marked
    assert all(part.recalled and RECALLED in part.standing for row in recalled for part in parts(row))
    read = [row for row in rows(edition) if not row.recalled]
    assert not any(RECALLED in part.standing for row in read for part in parts(row))


def test_provenance_is_told_apart(edition: Edition) -> None:
    """Published, derived and judged rows are counted; the only judged one is a common rehabilitation rule."""
    found = [row.provenance for row in rows(edition)]
    assert found.count(Provenance.JUDGEMENT) == 1
    assert [row.item_id for row in edition.recovery if row.provenance is Provenance.JUDGEMENT] == [
        "ACLR_EXT_W4"
    ]
    derived = [row for row in rows(edition) if row.provenance is Provenance.DERIVED]
    assert len(derived) == 43  # regression: rows whose value was worked out from published ones


def test_an_unknown_source_names_the_nearest(edition: Edition) -> None:
    """Asking for a source that is not there brings up the one that was meant."""
    with pytest.raises(InputError, match="did you mean 'sokal_2022'"):
        edition.source("sokal_2021")


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"citation": ""}, "citation"),
        ({"identifier": "10.1000/182"}, "does not begin with"),
        ({"identifier": "doi:abc"}, "does not begin with"),
        ({"caution": Caution.OUTLIER}, "without a remark"),
    ],
)
def test_a_source_must_be_citable(change: dict[str, Any], says: str, source: Source) -> None:
    """A source needs a citation, an identifier of a known form, and a reason for its caution."""
    with pytest.raises(EvidenceError, match=says):
        dataclasses.replace(source, **change)


def test_a_source_tells_its_year_and_name(edition: Edition) -> None:
    """The short name ends with the year; a paper that could not be found again has none and says so."""
    sokal, untraced = edition.source("sokal_2022"), edition.source("lever_meta_analysis")
    assert (sokal.short, sokal.year, sokal.traceable) == ("Sokal PA 2022", 2022, True)
    assert (untraced.year, untraced.traceable) == (None, False)


def test_tables_hold_no_address() -> None:
    """No cell of any table holds an address of a site or the catalogue name of an instrument."""
    folder = Path(__file__).parents[2] / "src/fabella/evidence/editions"
    words = (":" + "//", "www" + ".", ".com" + "/", "kt" + "1000", "kt" + "-1000")
    tables = [path for path in folder.rglob("*.csv") if path.parent.name != "model"]
    assert {"accuracy", "prevalence", "norms"} < {path.parent.name for path in tables}
    assert [path for path in tables if any(word in path.read_text("utf-8").lower() for word in words)] == []
