"""What a number rests on, kept with it: its estimator, how much was used, how much had to be left out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic, TypeVar

import numpy as np

from fabella.errors import FabellaError

T = TypeVar("T")
_TOO_FEW = "cannot be computed from these marks: they are too few, or too much alike"


@dataclass(frozen=True, slots=True, kw_only=True)
class Basis:
    """How something was estimated, from ``n`` of ``of`` (such as sheets), with ``dropped`` left out."""

    estimator: str
    n: int
    dropped: int
    of: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Part(Generic[T]):
    """One part of an analysis: its value, or None and why these marks do not give it."""

    basis: Basis
    value: T | None
    refusal: str = ""


def attempt(basis: Basis, compute: Callable[[], T]) -> Part[T]:
    """Return a part, or why it is refused: one part that cannot be had does not cost the others.

    Marks may be so few, or so much alike, that equations have no solution: that is a refusal as well.
    """
    try:
        with np.errstate(divide="raise", invalid="raise"):
            return Part(basis=basis, value=compute())
    except FabellaError as refusal:
        return Part(basis=basis, value=None, refusal=str(refusal))
    except (np.linalg.LinAlgError, ArithmeticError):
        return Part(basis=basis, value=None, refusal=_TOO_FEW)
