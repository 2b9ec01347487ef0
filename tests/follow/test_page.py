import re
from pathlib import Path

import pytest

from fabella.follow.graded import MOST_CHANCE, SHARES

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "follow.md").read_text("utf-8")


def test_the_python_example_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    """The page's Python runs as it stands, in the project's folder, and what it asserts is true."""
    monkeypatch.chdir(ROOT)
    (code,) = re.findall(r"```python\n(.*?)```", PAGE, re.DOTALL)
    assert code.count("assert") == 2
    exec(compile(code, "docs/follow.md", "exec"), {})  # noqa: S102 - our own page


@pytest.mark.parametrize(
    ("kappa", "levels", "grades"), [(0.8, 2, 1), (0.87, 4, 1), (0.44, 4, 2), (0.0, 20, 3)]
)
def test_the_table_of_kappas_is_what_the_rule_gives(kappa: float, levels: int, grades: int) -> None:
    """From each kappa in the table on a change counts, and from one a little lower it does not."""
    chance = (1 - kappa) * (1 - 1 / levels) * SHARES[grades]
    assert chance <= MOST_CHANCE + 1e-9
    if kappa:
        lower = (1 - kappa + 0.02) * (1 - 1 / levels) * SHARES[grades]
        assert lower > MOST_CHANCE


def test_the_files_named_on_the_page_exist() -> None:
    """Every example that the page calls is there."""
    for name in set(re.findall(r"examples/[\w/*.]+", PAGE)):
        assert list(ROOT.glob(name)), name
