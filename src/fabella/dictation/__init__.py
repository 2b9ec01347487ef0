"""How surgeons talk, turned into findings: proposed for confirmation, never recorded here."""

from fabella.dictation.understand import understand
from fabella.dictation.understood import Became, Choice, Span, Understood

__all__ = ["Became", "Choice", "Span", "Understood", "understand"]
