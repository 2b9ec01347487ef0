"""What may be examined: every sign, in the order of the body, as data with a validated loader."""

from fabella.protocol.loading import load_protocol
from fabella.protocol.sequence import Protocol
from fabella.protocol.signs import (
    Contraindication,
    Direction,
    Kind,
    Level,
    Measure,
    Position,
    Scale,
    SideRule,
    Sides,
    Sign,
    TellsOf,
    Unit,
)

__all__ = [
    "Contraindication",
    "Direction",
    "Kind",
    "Level",
    "Measure",
    "Position",
    "Protocol",
    "Scale",
    "SideRule",
    "Sides",
    "Sign",
    "TellsOf",
    "Unit",
    "load_protocol",
]
