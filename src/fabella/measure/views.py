"""A view: how a limb is pictured, which landmarks are pointed at in which order, and what they give."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

from fabella.errors import InputError, suggestion
from fabella.measure.points import Arm
from fabella.measure.quantities import Quantity

LimbSide = Literal["right", "left"]
"""The patient's own side."""


class SeenFrom(StrEnum):
    """Where the camera or the tube stands, from the limb."""

    SIDE = "side"
    FRONT = "front"
    ABOVE = "above"  # of somebody who lies on the front: the back is seen


class Medium(StrEnum):
    """What a view is taken on."""

    PHOTOGRAPH = "photograph"
    RADIOGRAPH = "radiograph"


@dataclass(frozen=True, slots=True, kw_only=True)
class Landmark:
    """A point to be placed on the picture.

    Parameters
    ----------
    id, name
        Short name for programs, and the term of the trade.
    where
        Where exactly, in a few words.
    placed_mm
        Standard error of placing it in any one direction, in mm on an adult limb; 0 where only a rough
        direction is taken from it.
    source
        Where ``placed_mm`` comes from, beginning with ``published``, ``derived`` or ``judgement``.
    """

    id: str
    name: str
    where: str
    placed_mm: float
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """One way of picturing a limb.

    Parameters
    ----------
    id, name, medium, seen_from
        What it is called and how it is taken.
    taking
        How to take the picture, in one or two sentences.
    landmarks
        In the order in which they are pointed at.
    quantities
        What they give, the main one first.
    segments
        Two arms whose lengths together are ``adult_mm`` in an adult; they scale a picture without a scale.
    proportion
        Least and greatest length of the first segment, in lengths of the second.
    downwards
        Landmarks that lie one below the other on an upright picture; empty where it may lie as it will.
    """

    id: str
    name: str
    medium: Medium
    seen_from: SeenFrom
    taking: str
    landmarks: tuple[Landmark, ...]
    quantities: tuple[Quantity, ...]
    segments: tuple[Arm, Arm]
    adult_mm: float
    proportion: tuple[float, float]
    downwards: tuple[str, ...] = ()

    @property
    def signs(self) -> tuple[str, ...]:
        """Return the signs of the protocol that this view gives, the usual one first."""
        return tuple(sign for quantity in self.quantities for sign in quantity.signs)

    @property
    def method(self) -> str:
        """Return how a finding from this view was taken, as it is written in the record."""
        place = "above" if self.seen_from is SeenFrom.ABOVE else f"the {self.seen_from.value}"
        return f"{self.medium.value} from {place}, {_NUMBERS[len(self.landmarks)]} landmarks"

    def landmark(self, name: str) -> Landmark:
        """Return a landmark by its id.

        Raises
        ------
        InputError
            When the view has none of that name.
        """
        for each in self.landmarks:
            if each.id == name:
                return each
        ids = (each.id for each in self.landmarks)
        raise InputError.of(
            place="points", value=name, says=f"is no landmark of {self.id}", remedy=suggestion(name, ids)
        )


_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight")
