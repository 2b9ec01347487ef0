"""The two sides of a patient, as the patient owns them (never as the page shows them)."""

from enum import StrEnum


class Side(StrEnum):
    """The patient's own right or left."""

    RIGHT = "right"
    LEFT = "left"


def other(side: Side) -> Side:
    """Return the opposite side."""
    return Side.LEFT if side is Side.RIGHT else Side.RIGHT
