"""What to do next: the manoeuvre, question or image that would tell most for its time and pain."""

from fabella.advise.by_rule import worth_doing
from fabella.advise.rank import advise
from fabella.advise.result import Advice, Confirms, NextStep, OrderedBy, Outlook, Precedes, Withheld
from fabella.advise.unbent import unbent

__all__ = [
    "Advice",
    "Confirms",
    "NextStep",
    "OrderedBy",
    "Outlook",
    "Precedes",
    "Withheld",
    "advise",
    "unbent",
    "worth_doing",
]
