import pytest

from fabella.audit import packaged_cases
from fabella.cli import validate
from tests.cli.running import call


@pytest.mark.parametrize("width", [80, 140])
def test_every_case_stands_there_unbroken_at_any_width(width: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """No word of a diagnosis is cut off, and no line is longer than the terminal is wide."""
    few = packaged_cases()[:4]
    monkeypatch.setattr(validate, "packaged_cases", lambda: few)
    monkeypatch.setenv("COLUMNS", str(width))
    out = call("validate").out
    assert "…" not in out
    assert [case.id for case in few if case.id not in out] == []
    assert max(map(len, out.splitlines())) <= width
