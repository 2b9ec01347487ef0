"""What the chain makes of the patients that come with the package, computed once for all tests."""

from __future__ import annotations

import time
from dataclasses import dataclass

import pytest

from fabella.audit import Validation, packaged_cases, validate_cases
from fabella.audit.collected import collected_cases
from fabella.protocol import load_protocol
from fabella.workup import run_workup


@dataclass(frozen=True, slots=True, kw_only=True)
class Ran:
    """The results of all patients, and the computing time (s) that they took."""

    packaged: Validation
    collected: Validation
    computing_s: float


@pytest.fixture(scope="session")
def ran() -> Ran:
    """Run the chain on every patient of the package."""
    begun = time.process_time()
    protocol = load_protocol()
    packaged = validate_cases(packaged_cases(), run=run_workup, protocol=protocol)
    collected = validate_cases(collected_cases(), run=run_workup, protocol=protocol)
    return Ran(packaged=packaged, collected=collected, computing_s=time.process_time() - begun)


@pytest.fixture(scope="session")
def packaged(ran: Ran) -> Validation:
    """Return what the chain makes of the packaged patients."""
    return ran.packaged


@pytest.fixture(scope="session")
def collected(ran: Ran) -> Validation:
    """Return what the chain makes of the collected patients."""
    return ran.collected
