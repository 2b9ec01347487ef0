"""What of a published case did not enter an examination."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """A finding or an answer in the words of the case, and why it did not enter."""

    sign: str
    value: str
    why: str
