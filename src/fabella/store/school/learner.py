"""Whose a practice run is: an account's, or a browser's that was let into a class by its code."""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import sha256
from typing import Protocol

_MARK = "class:"
"""What begins the name of a pass; no account's name has a colon."""


class Learner(Protocol):
    """Somebody who practises, an `Actor` or a `ClassPass`: runs are theirs by this name alone."""

    @property
    def name(self) -> str:
        """The name under which runs are kept."""
        ...


@dataclass(frozen=True, slots=True)
class ClassPass:
    """A browser without an account: ``secret`` is known to it alone, and the store keeps only its hash."""

    secret: str

    @property
    def name(self) -> str:
        """The name under which runs are kept, from which the secret cannot be told."""
        return _MARK + sha256(self.secret.encode()).hexdigest()
