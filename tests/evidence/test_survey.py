"""The page of the evidence is made from the tables, says all of them and is not stale."""

from pathlib import Path

import pytest

from fabella.evidence import Edition
from fabella.evidence.footings import tables
from fabella.evidence.knowledge import load_knowledge
from fabella.evidence.survey import as_markdown, main

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
