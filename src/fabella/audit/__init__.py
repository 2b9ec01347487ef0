"""How good the conclusion is: published patients read, run through the chain and compared with the diagnosis."""

from fabella.audit.adapting import AdaptedCase, adapt
from fabella.audit.cases import CaseFinding, PublishedCase, packaged_cases, read_cases
from fabella.audit.left_out import LeftOut

__all__ = [
    "AdaptedCase",
    "CaseFinding",
    "LeftOut",
    "PublishedCase",
    "adapt",
    "packaged_cases",
    "read_cases",
]
