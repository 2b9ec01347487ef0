"""The page of the evidence is made from the tables, says all of them and is not stale."""

import re
from pathlib import Path

import pytest

from fabella.evidence import Edition
from fabella.evidence.footings import tables
from fabella.evidence.knowledge import load_knowledge
from fabella.evidence.named import AGE_WORDS, names_of
from fabella.evidence.rates import AGE_BANDS
from fabella.evidence.survey import as_markdown, main
from fabella.stats.written import share_words

PAGE = Path(__file__).parents[2] / "docs" / "evidence.md"
KNOWLEDGE = load_knowledge()


def test_the_page_is_not_stale(tmp_path: Path) -> None:
    """The page is what ``python -m fabella.evidence.survey docs/evidence.md`` writes today."""
    main([str(tmp_path / "evidence.md")])
    assert (tmp_path / "evidence.md").read_text("utf-8") == PAGE.read_text("utf-8")


def test_the_command_wants_a_file() -> None:
    """Without a file to write the command says how it is called."""
    with pytest.raises(SystemExit, match=r"docs/evidence\.md"):
        main([])


def test_every_source_of_the_model_is_on_the_page(edition: Edition) -> None:
    """Whatever a table of the model rests on is listed with its citation."""
    page = as_markdown(edition, KNOWLEDGE)
    for rows in tables(KNOWLEDGE).values():
        for row in rows:
            for key in row.keys:
                assert f"- `{key}`: {edition.source(key).citation}" in page


def test_every_number_with_a_footing_is_on_the_page(edition: Edition) -> None:
    """Every row that is more than judgement has a line of its own."""
    page = as_markdown(edition, KNOWLEDGE).splitlines()
    firm = sum(bool(row.keys) for rows in tables(KNOWLEDGE).values() for row in rows)
    shown = [line for line in page if "| published: " in line or "| derived: " in line]
    assert len(shown) == firm


def test_the_page_says_names_not_ids(edition: Edition) -> None:
    """No id stands in a table, as a cell or in a remark, only the keys in the list of sources."""
    page = as_markdown(edition, KNOWLEDGE).partition("\n## Sources of the model")[0]
    rows = [line for line in page.splitlines() if line.startswith(("| ", "- "))]
    assert [line for line in rows if re.search(r"`|\b[a-z]\w*_\w+", line)] == []
    assert "| Lachman test | anterior cruciate ligament tear |" in page
    assert "| patellar fracture | 60 and over |" in page


def test_the_page_writes_numbers_as_the_terminal_does(edition: Edition) -> None:
    """Accuracies with two or three decimals, alike with their ends; every other chance as a percentage."""
    page = as_markdown(edition, KNOWLEDGE)
    for used in KNOWLEDGE.accuracy:
        both = ((used.sensitivity, used.sensitivity_bounds), (used.specificity, used.specificity_bounds))
        words = (share_words(value, *(bounds or ())) for value, bounds in both)
        assert f" | {' | '.join(words)} | {used.n or ''} |" in page
    bare = re.compile(r"\| (?:0|1|0?\.\d+|1\.0) \|")
    assert [line for line in _section(page, "How common") if bare.search(line)] == []
    assert [line for line in _section(page, "Company") if bare.search(line)] == []


def _section(page: str, heading: str) -> list[str]:
    return page.partition(f"\n## {heading}\n")[2].partition("\n## ")[0].splitlines()


def test_what_has_no_name_is_written_out(edition: Edition) -> None:
    """Every band of age has words; a measure that is no sign of the examination is written as words."""
    names = names_of(edition, KNOWLEDGE)
    assert len(AGE_WORDS) == len(AGE_BANDS)
    assert names.sign("step_time_asymmetry") == "step time asymmetry"
    assert names.lesion("acl_tear", "partial") == "anterior cruciate ligament tear, partial"
    assert names.lesion("knee_dislocation", "present") == "knee dislocation (tibiofemoral, also if reduced)"
    assert names.together(()) == "no listed lesion"
