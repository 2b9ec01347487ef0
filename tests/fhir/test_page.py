"""The page that documents what is sent."""

import re
from pathlib import Path

import pytest

from fabella.fhir.codes import load_codes
from tests.fhir.made import EXAMPLES, document, example
from tests.fhir.standard import resources

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "fhir.md").read_text("utf-8")


def test_its_example_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    """The Python on the page makes the document that it says."""
    monkeypatch.chdir(ROOT)
    code = re.search(r"```python\n(.*?)```", PAGE, re.DOTALL)
    assert code is not None
    exec(code[1], {})  # noqa: S102  the page's own example


def test_it_names_every_code_system_with_its_uri() -> None:
    """A receiver finds each system of a coding on the page."""
    systems = [each for each in load_codes().own.values() if each.id != "examination"]
    assert [each for each in systems if f"| `{each.name}` | `{each.uri}` |" not in PAGE] == []


def test_it_tells_of_every_kind_of_resource() -> None:
    """Whatever the examples are sent as has a row that says why."""
    sent = {each["resourceType"] for path in EXAMPLES for each in resources(document(example(path)))}
    assert [kind for kind in sent if f"| `{kind}` |" not in PAGE] == []
