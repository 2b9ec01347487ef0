"""A run with the patient behind it, which no student gets."""

from __future__ import annotations

from dataclasses import dataclass, field

from fabella.anatomy import Side
from fabella.protocol import Protocol, load_protocol
from fabella.teach.hidden import Hidden
from fabella.teach.run import Run


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Encounter:
    """A run with the patient behind it; ``hurt`` is the pain given to each knee so far."""

    hidden: Hidden
    protocol: Protocol = field(default_factory=load_protocol)
    run: Run
    hurt: tuple[tuple[Side, float], ...] = tuple((side, 0.0) for side in Side)

    def __repr__(self) -> str:
        return f"Encounter(hidden, {len(self.run.turns)} turns)"

    def hurt_on(self, side: Side | None) -> float:
        """Return the pain given so far to a knee; both together when no side is named."""
        return sum(each for own, each in self.hurt if side in (own, None))
