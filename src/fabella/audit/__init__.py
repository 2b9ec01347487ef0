"""How good the conclusion is: published patients run through the chain and compared with the diagnosis."""

from fabella.audit.adapting import AdaptedCase, adapt
from fabella.audit.cases import CaseFinding, PublishedCase, packaged_cases, read_cases
from fabella.audit.diagnoses import Expected, expected, lesions_of
from fabella.audit.phrase import LeftOut
from fabella.audit.validation import CaseResult, Likely, Raised, Run, Share, Validation, judge, validate_cases

__all__ = [
    "AdaptedCase",
    "CaseFinding",
    "CaseResult",
    "Expected",
    "LeftOut",
    "Likely",
    "PublishedCase",
    "Raised",
    "Run",
    "Share",
    "Validation",
    "adapt",
    "expected",
    "judge",
    "lesions_of",
    "packaged_cases",
    "read_cases",
    "validate_cases",
]
