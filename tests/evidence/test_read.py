import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from fabella.errors import EvidenceError
from fabella.evidence import Edition, StudySetting, edition_ids, load_edition, read_edition
from fabella.evidence.freeze import frozen_text
from fabella.evidence.loader import LATEST, edition_folder
from fabella.evidence.rows import KINDS

SOKAL = "accuracy/sokal_2022.csv"
Copy = Callable[..., Path]


def edit(folder: Path, table: str, *changes: tuple[str, str]) -> None:
    """Replace the first occurrence of each text in a table."""
    path = folder / table
    text = path.read_text("utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    path.write_text(text, "utf-8")


def test_every_problem_of_every_table_is_listed_at_once(copy: Copy) -> None:
    """A broken edition is refused with one message: file, line, column, value and remedy of each problem."""
    folder = copy(SOKAL, "norms/soucie_2011.csv", "prevalence/abbasi_2012.csv")
    edit(folder, SOKAL, ("0.83,0.77,0.88", "o.83,0.77,0.88"), ("hospital", "hospitl"))
    edit(folder, "norms/soucie_2011.csv", ("151.2,154.0", "154.0,151.2"), ("ci95_mean", "ci95"))
    edit(folder, "prevalence/abbasi_2012.csv", (",abbasi_2012,", ",abassi_2012,"), (",0.22,", ",1.22,"))
    with pytest.raises(EvidenceError) as refused:
        read_edition(folder)
    wrong = [
        (f"{SOKAL} line 2, column setting", "'hospitl' is not allowed here; did you mean 'hospital'?"),
        (
            f"{SOKAL} line 2, column sens",
            "'o.83' is not a number; use digits and a decimal point, or leave it empty",
        ),
        (
            "norms/soucie_2011.csv line 2, column lohi",
            "'ci95' is not allowed here; did you mean 'ci95_mean'?",
        ),
        (
            "prevalence/abbasi_2012.csv line 2, column source",
            "'abassi_2012' is not in sources.csv; did you mean 'abbasi_2012'?",
        ),
        ("prevalence/abbasi_2012.csv line 3", "prevalence 1.22 is not within 0 to 1"),
    ]
    assert str(refused.value).splitlines() == [f"{place}: {says}" for place, says in wrong]


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("lr_neg_hi,interval", "lr_neg_high,interval", "line 1: 'lr_neg_high' is no column of this table"),
        ("lr_neg_hi,interval", "lr_neg_high,interval", "columns are missing; add lr_neg_hi"),
        (",any,", ",any,,", "cells where the header has"),
        ("0.77,0.88", "0.87,0.88", "makes no estimate: low, value and high are out of order"),
        ("ci95,,,bivariate", ",,,bivariate", "ends and kind of interval disagree"),
        ("lachman,", ",", "column sign_id: is empty"),
        (",seen,", ",read,", "'read' is not allowed here"),
        (",false,true,none", ",no,true,none", "column composite: 'no' is not allowed here"),
        ("0.88,0.85", "0.88,nan", "'nan' is not a finite number"),
        (",,,bivariate", ",3.5,,bivariate", "'3.5' is not a whole number from 0"),
        ("sokal_2022,published", "sokal_2022,proven", "column provenance: 'proven' is not allowed here"),
        ("sokal_2022,published", "abbasi_2012,published", "stands in the file of another source; move it"),
    ],
)
def test_each_kind_of_mistake_is_told(old: str, new: str, says: str, copy: Copy) -> None:
    """Wrong headers, cells, numbers, words, sources and files each have their message."""
    folder = copy(SOKAL)
    edit(folder, SOKAL, (old, new))
    with pytest.raises(EvidenceError, match=re.escape(says)):
        read_edition(folder)


@pytest.mark.parametrize(
    ("table", "old", "new", "says"),
    [
        ("norms/soucie_2011.csv", ",2-8,2,9,", ",2-8,,9,", "column age_from_years: is empty"),
        ("norms/soucie_2011.csv", ",2-8,2,9,", ",2-8,9,2,", "ages from 9.0 to below 2.0 are nobody's"),
        (
            "prevalence/abbasi_2012.csv",
            ",0.36,",
            ",,",
            "column prevalence: is empty; give prevalence, lo or hi",
        ),
        ("cooccurrence/uimonen_2021.csv", ",0.113,", ",11.3,", "P(b|a) 11.3 is not within 0 to 1"),
        ("grading/slichter_2018.csv", ",10,false,,,", ",10,false,5,false,", "lower 10.0 is above upper 5.0"),
    ],
)
def test_each_kind_of_table_checks_its_own(table: str, old: str, new: str, says: str, copy: Copy) -> None:
    """Ages, shares, chances and limits are checked where they stand."""
    folder = copy(table)
    edit(folder, table, (old, new))
    with pytest.raises(EvidenceError, match=re.escape(says)):
        read_edition(folder)


def test_other_mistakes_are_told(copy: Copy) -> None:
    """A source listed twice, a table of no known kind and a file that is not UTF-8 are told too."""
    folder = copy(SOKAL, "gaps.csv")
    sources = (folder / "sources.csv").read_text("utf-8").splitlines(keepends=True)
    (folder / "sources.csv").write_text("".join([*sources, sources[1]]), "utf-8")
    (folder / "acuracy").mkdir()
    (folder / "acuracy/sokal_2022.csv").write_bytes(b"a,b\n")
    (folder / "gaps.csv").write_bytes(b"subject,looked_for,note\nx,y,caf\xe9\n")
    with pytest.raises(EvidenceError) as refused:
        read_edition(folder)
    message = str(refused.value)
    assert "sources.csv: 'aaos_handbook' stands twice" in message
    assert "is not a known kind of table; did you mean 'accuracy'?" in message
    assert "gaps.csv: " in message
    assert "is not UTF-8" in message


@pytest.mark.parametrize("kind", KINDS)
def test_an_edition_loads_without_any_one_table(kind: str, edition: Edition, tmp_path: Path) -> None:
    """Whatever is missing, the rest can be read: safety rules must not depend on accuracy tables."""
    folder = tmp_path / "bare"
    shutil.copytree(Path(str(edition_folder(LATEST))), folder, ignore=shutil.ignore_patterns(kind))
    bare = read_edition(folder)
    assert {other for other in KINDS if getattr(bare, other) != getattr(edition, other)} == {kind}
    assert getattr(bare, kind) == ()


def test_lookups_in_an_empty_edition_find_nothing(copy: Copy) -> None:
    """Every look-up answers with an empty tuple when its table is empty."""
    bare = read_edition(copy())
    found = (
        bare.accuracy_of("lachman"),
        bare.accuracy_for("lachman", "acl_tear"),
        bare.norms_of("passive_flexion"),
        bare.measurement_error_of("knee_angle"),
        bare.reliability_of("lachman"),
        bare.bands("ikdc2000_lachman_134n"),
    )
    assert found == ((),) * len(found)


def test_an_edition_without_gaps_loads(copy: Copy) -> None:
    """The list of gaps may be missing as well."""
    folder = copy()
    (folder / "gaps.csv").unlink()
    assert read_edition(folder).gaps == ()


def test_edited_tables_do_not_pass_for_the_frozen_ones(copy: Copy) -> None:
    """An edition whose tables differ from those frozen says so in its name, which every result carries."""
    folder = copy(SOKAL)
    assert read_edition(folder).id == "2026.1 (edited)"
    (folder / "edition.toml").write_text(frozen_text(folder), "utf-8")
    assert read_edition(folder).id == "2026.1"


def test_an_unknown_edition_is_refused() -> None:
    """Only packaged editions can be asked for; the message names them."""
    assert LATEST in edition_ids()
    with pytest.raises(EvidenceError, match=r"no edition '1999\.1'; .*2026\.1"):
        load_edition("1999.1")


def test_loading_is_quick() -> None:
    """The whole edition loads in under 150 ms of computing, so that no command has to wait for it."""
    code = (
        "import time\n"
        "from fabella.evidence.loader import LATEST, edition_folder\n"
        "from fabella.evidence.read import read_edition\n"
        "def load():\n"
        "    start = time.process_time()\n"
        "    read_edition(edition_folder(LATEST))\n"
        "    return time.process_time() - start\n"
        "print(min(load() for _ in range(5)))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert 0 < float(done.stdout) < 0.150


def test_loaded_once() -> None:
    """The packaged edition is read once and shared; it cannot be changed."""
    assert load_edition() is load_edition()
    with pytest.raises(AttributeError):
        load_edition().id = "mine"  # type: ignore[misc]


def test_filters_keep_what_holds_there_and_then(edition: Edition) -> None:
    """Asking for primary care leaves out hospital series; a finding level keeps that level only."""
    everywhere = edition.accuracy_for("joint_line_tenderness", "meniscus_tear_any")
    primary = [row for row in everywhere if row.suits_setting(StudySetting.PRIMARY_CARE)]
    assert {row.source.key for row in primary} == {"blyth_2015"}
    assert len(everywhere) > len(primary)
    levels = edition.accuracy_for("synovial_wbc", "septic_arthritis", finding_level=">50000 per uL")
    assert [row.finding_level for row in levels] == [">50000 per uL"]
