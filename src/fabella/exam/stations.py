"""A station: what it asks of a candidate, how it is marked, and the papers it needs."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Domain:
    """A kind of item, whose marks are summed for themselves too; ``anchors`` say what earns 0, 1, 2 marks."""

    id: str
    name: str
    anchors: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One line of a mark sheet.

    Parameters
    ----------
    words
        What the candidate does, as the examiner reads it.
    anchors
        What earns 0, 1, 2 … marks; the last earns all.
    weight
        By what the marks are multiplied, above 0.
    signs
        The signs of the protocol that it takes.
    seconds
        What it takes, positions of the patient left out.
    critical
        Whether leaving it out raises a concern for safety.
    """

    id: str
    words: str
    domain: str
    anchors: tuple[str, ...]
    weight: float = 1.0
    signs: tuple[str, ...] = ()
    seconds: int = 0
    critical: bool = False

    @property
    def most(self) -> int:
        """The highest mark before weighing."""
        return len(self.anchors) - 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Grade:
    """One step of the global rating: a judgement of the whole, never worked out from the marks."""

    code: int
    name: str
    words: str


GRADES = (
    Grade(code=0, name="fail", words="not safe or not able to examine a knee alone"),
    Grade(code=1, name="borderline", words="neither clearly enough nor clearly too little"),
    Grade(code=2, name="pass", words="examines a knee well enough for this stage"),
    Grade(code=3, name="good", words="fluent, complete in what matters, with few faults"),
    Grade(code=4, name="excellent", words="one would send a relative to them"),
)
"""Five steps are common practice; the words are ours. The team may put others in their place."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Station:
    """A station as it is printed and marked; ``version`` counts from 1, and a used one is never altered.

    ``borderline`` is the code of the grade at which the pass mark is read.
    """

    id: str
    title: str
    topic: str
    minutes: float
    items: tuple[Item, ...]
    task: str
    volunteer: str
    equipment: tuple[str, ...]
    version: int = 1
    grades: tuple[Grade, ...] = GRADES
    borderline: int = 1

    @property
    def most(self) -> float:
        """The highest score, weighed."""
        return sum(item.most * item.weight for item in self.items)

    def item(self, item_id: str) -> Item:
        """Return one of its items; raise `KeyError` when there is none."""
        for each in self.items:
            if each.id == item_id:
                return each
        raise KeyError(item_id)
