"""How one rule reads one knee, before it is worded as an alarm."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from fabella.flags.logic import Truth


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """A rule's criteria and verdict on one knee.

    Parameters
    ----------
    criteria
        Each criterion of the rule by id: true, false or unknown.
    met
        What they amount to together.
    relevant
        Whether the rule concerns this knee at all; unknown when nothing recorded says so.
    excluded
        Whether an exclusion of the rule is *known* to hold; one that nobody mentioned silences nothing.
    total
        For a rule that adds up points: the numbers that its words name.
    spares
        Images that the rule orders and this patient does not need.
    """

    criteria: Mapping[str, Truth]
    met: Truth
    relevant: Truth = True
    excluded: bool = False
    total: Mapping[str, int] = field(default_factory=dict)
    spares: frozenset[str] = frozenset()

    @property
    def rings(self) -> bool:
        """Whether the rule is met on a knee that it concerns."""
        return bool(self.met and self.relevant and not self.excluded)
