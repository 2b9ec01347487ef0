import json
import re
from pathlib import Path

import pytest

from fabella.protocol import load_protocol
from fabella.record import (
    SCORES,
    Acuity,
    ImageKind,
    Mechanism,
    Origin,
    ProcedureName,
    Reason,
    Setting,
    Sex,
    State,
    read_examination,
)
from fabella.record.layout import (
    CONTEXT_KEYS,
    EXAMINATION_KEYS,
    FINDING_KEYS,
    IMAGING_KEYS,
    PATIENT_KEYS,
    PROCEDURE_KEYS,
    TOTAL_KEYS,
)
from fabella.record.schema import BEYOND_THE_SCHEMA
from tests.strategies import TODAY

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "format.md").read_text("utf-8")


def block(language: str) -> str:
    """The one block of the page in a language."""
    (found,) = re.findall(rf"```{language}\n(.*?)```", PAGE, re.DOTALL)
    return str(found)


def test_the_example_is_cut_from_a_valid_file() -> None:
    """The page's example is itself valid, and each of its lines stands in the file it is cut from."""
    whole = (ROOT / "examples" / "twist_at_handball.json").read_text("utf-8")
    assert read_examination(block("json"), protocol=load_protocol(), today=TODAY).id == "twist-at-handball"
    lines = {line.rstrip(",") for line in whole.splitlines()}
    assert [line for line in block("json").splitlines() if line.rstrip(",") not in lines] == []
    assert json.loads(block("json")).keys() <= json.loads(whole).keys()


def test_the_python_example_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    """The page's Python runs as it stands, in the project's folder, and what it asserts is true."""
    monkeypatch.chdir(ROOT)
    assert block("python").count("assert") == 2
    exec(compile(block("python"), "docs/format.md", "exec"), {})  # noqa: S102 - our own page


def test_the_page_names_every_key_and_every_allowed_name() -> None:
    """Nothing that may stand in a file is missing from the page."""
    keys = {*EXAMINATION_KEYS, *PATIENT_KEYS, *CONTEXT_KEYS, *PROCEDURE_KEYS, *TOTAL_KEYS, *FINDING_KEYS}
    keys |= {*IMAGING_KEYS}
    kinds = (Acuity, ImageKind, Mechanism, Origin, ProcedureName, Reason, Setting, Sex, State)
    names = {*(each.value for kind in kinds for each in kind), *SCORES}
    assert sorted(word for word in keys | names if f"`{word}`" not in PAGE and f'"{word}"' not in PAGE) == []


def test_the_page_lists_what_no_schema_can_say() -> None:
    """The rules that only the reader knows are told in the same words as in the code."""
    assert [rule for rule in BEYOND_THE_SCHEMA if f"\n- {rule}\n" not in PAGE] == []
