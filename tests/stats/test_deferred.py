"""scipy is loaded only by what uses it."""

from __future__ import annotations

import subprocess
import sys

_SCRIPT = """
import sys
import fabella.workup
from fabella.stats import clopper_pearson
loaded_for_nothing = "scipy" in sys.modules
print(loaded_for_nothing, round(clopper_pearson(successes=81, n=263).low, 4), "scipy" in sys.modules)
"""


def test_a_conclusion_loads_no_scipy_and_an_interval_does() -> None:
    """Importing the workup leaves scipy unloaded; the first exact interval loads it.

    The interval, of 81 in 263, is that of Newcombe 1998 Stat Med 17:857-872, table I, method 5 (from memory).
    """
    done = subprocess.run([sys.executable, "-c", _SCRIPT], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "0.2527", "True"]
