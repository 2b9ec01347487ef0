"""What is true of a practice patient, and must never reach whoever examines it.

Nothing here has a readable `repr` or a way to be written out: what a student may get is `fabella.teach.seen`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fabella.anatomy import Side
from fabella.infer.states import Slot
from fabella.record import Answer, Examination
from fabella.teach.dice import Dice
from fabella.teach.person import Person
from fabella.teach.recipe import Recipe


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Outcome:
    """What one sign shows on one side.

    Parameters
    ----------
    level
        Position among the levels of the sign, 0 = normal, while the muscles are relaxed.
    guarded
        The same while they guard.
    value, read
        The true reading in the unit of the sign, and what a first careful measurement gives: they differ by
        the measurement error. None where the sign is not measured.
    guarded_read
        What that first measurement gives while the muscles guard.
    sem
        The standard error of one reading, same unit; 0 where the sign is not measured.
    """

    level: int
    guarded: int
    value: float | None = None
    read: float | None = None
    guarded_read: float | None = None
    sem: float = 0.0

    def __repr__(self) -> str:
        return "Outcome(hidden)"


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class HiddenKnee:
    """One knee: its lesions, whether it guards from the start, and what pain it is ready to give.

    ``prevented`` says that pain and guarding prevent every stress test; ``irritability`` is the factor by
    which this knee feels the hurt of a manoeuvre (0 sound, 1 sore, more when acute); ``forbidden`` the
    contraindications that hold for it.
    """

    lesions: tuple[Slot, ...]
    guarding: bool
    prevented: bool
    irritability: float
    forbidden: frozenset[str]

    def __repr__(self) -> str:
        return "HiddenKnee(hidden)"


@dataclass(frozen=True, slots=True, kw_only=True, repr=False, eq=False)
class Hidden:
    """The whole hidden patient; ``outcomes`` are by sign and side (None: of the person)."""

    recipe: Recipe
    person: Person
    knees: Mapping[Side, HiddenKnee]
    outcomes: Mapping[tuple[str, Side | None], Outcome]
    answers: Mapping[str, Answer | None]
    everything: Examination
    """What a careful examiner who left out nothing would have written down."""

    def __repr__(self) -> str:
        return f"Hidden(seed={self.recipe.seed})"

    def __getstate__(self) -> object:
        raise TypeError("a hidden patient is drawn again from its recipe, never stored")

    @property
    def dice(self) -> Dice:
        """The dice of this patient."""
        return Dice(self.recipe.seed)

    @property
    def complaint(self) -> HiddenKnee:
        """The knee complained of."""
        return self.knees[self.person.side]

    def reading(self, sign: str, side: Side | None, *, guarded: bool = False, again: int = 0) -> float | None:
        """Return what measuring gives the first time, or ``again`` times later; None when not measured."""
        outcome = self.outcomes[sign, side]
        first = outcome.guarded_read if guarded else outcome.read
        if outcome.value is None or outcome.read is None or first is None or again == 0:
            return first
        hidden_by_muscle = outcome.read - first
        error = outcome.sem * self.dice.normal("again", sign, side, again)
        return outcome.value + error - hidden_by_muscle
