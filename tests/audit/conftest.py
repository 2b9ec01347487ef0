"""What the chain makes of the patients that come with the package, computed once for all tests.

The runs are those of the command's own examples (`VALIDATED`), which take too long to be made a second time
where the other examples of the help are tried.
"""

from __future__ import annotations

import shlex
import time
from dataclasses import dataclass
from unittest.mock import patch

import pytest

from fabella.audit import Validation, validate_cases
from tests.cli.running import VALIDATED, Left, call


@dataclass(frozen=True, slots=True, kw_only=True)
class Ran:
    """How each example of the command left, the results of all patients, and the computing time (s)."""

    left: dict[str, Left]
    packaged: Validation
    collected: Validation
    computing_s: float


@pytest.fixture(scope="session")
def ran() -> Ran:
    """Run the command on every patient of the package."""
    validations: list[Validation] = []

    def kept(*cases: object, **chain: object) -> Validation:
        validations.append(validate_cases(*cases, **chain))  # type: ignore[arg-type]
        return validations[-1]

    begun = time.process_time()
    with patch("fabella.cli.validate.validate_cases", kept):
        left = {example: call(*shlex.split(example)[1:]) for example in VALIDATED}
    computing_s = time.process_time() - begun
    packaged, collected = validations
    return Ran(left=left, packaged=packaged, collected=collected, computing_s=computing_s)


@pytest.fixture(scope="session")
def packaged(ran: Ran) -> Validation:
    """Return what the chain makes of the packaged patients."""
    return ran.packaged


@pytest.fixture(scope="session")
def collected(ran: Ran) -> Validation:
    """Return what the chain makes of the collected patients."""
    return ran.collected
