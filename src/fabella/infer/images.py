"""What images that were there before the conclusion say of each lesion, by the accuracy of the tables.

Each lesion that an image can show was shown or was not; given the lesions of the knee these are taken as
independent of each other, and of what hands find (judgement).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fabella.evidence.facts import Image, Knowledge
from fabella.infer.calibrate import draw_image
from fabella.infer.evidence_of import ImageRead
from fabella.infer.states import States

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class _Shows:
    """What one image can show, a row a lesion: ``holding`` (rows, states) says which states have it."""

    rows: tuple[Image, ...]
    holding: NDArray[np.bool_]
    point: Floats
    drawn: Floats
    """Sensitivity and specificity, (2, rows), and under every draw (2, rows, draws)."""


class Images:
    """The images of one edition of the evidence; each is compiled when first needed."""

    def __init__(self, states: States, knowledge: Knowledge, *, draws: int, seed: int) -> None:
        self._states = states
        self._rows: dict[str, dict[str, Image]] = {}
        for row in knowledge.images:
            self._rows.setdefault(row.image, {})[row.lesion] = row
        self._draws = draws
        self._seed = seed
        self._compiled: dict[str, _Shows] = {}

    def shown_by(self, image: str) -> Mapping[str, Image]:
        """Return how well an image shows each lesion that it can show; none where no table has it."""
        return self._rows.get(image, {})

    def log_likelihood(self, images: Iterable[ImageRead]) -> Floats:
        """Return log P(what these images show) in each state (states,)."""
        total = np.zeros(len(self._states))
        for read in images:
            can = self._shows(read.image)
            with_it, without = _logs(can, read, can.point)
            total += without.sum() + (with_it - without) @ can.holding
        return total

    def drawn_log_likelihood(
        self, images: Iterable[ImageRead], kept: NDArray[np.intp]
    ) -> NDArray[np.float32]:
        """Return the same under every draw, (kept, draws), but for what all states of a draw share."""
        total = np.zeros((len(kept), self._draws), dtype=np.float32)
        for read in images:
            can = self._shows(read.image)
            with_it, without = _logs(can, read, can.drawn)
            total += can.holding[:, kept].T.astype(np.float32) @ (with_it - without).astype(np.float32)
        return total

    def _shows(self, image: str) -> _Shows:
        if image not in self._compiled:
            rows = tuple(self.shown_by(image).values())
            drawn = np.empty((2, len(rows), self._draws))
            for i, row in enumerate(rows):
                rng = np.random.default_rng([self._seed, *f"{image} {row.lesion}".encode()])
                drawn[:, i] = draw_image(row, self._draws, rng)
            self._compiled[image] = _Shows(
                rows=rows,
                holding=np.array([self._states.having(row.lesion) for row in rows], dtype=bool).reshape(
                    len(rows), len(self._states)
                ),
                point=np.array([[row.sensitivity, row.specificity] for row in rows]).reshape(-1, 2).T,
                drawn=drawn,
            )
        return self._compiled[image]


def _logs(can: _Shows, read: ImageRead, accuracy: Floats) -> tuple[Floats, Floats]:
    """Return the log chance of what was read of each lesion, in knees with it and in knees without."""
    shown = np.array([row.lesion in read.shows for row in can.rows], dtype=bool)
    shown = shown.reshape(-1, *([1] * (accuracy.ndim - 2)))
    sensitivity, specificity = accuracy
    return (
        np.log(np.where(shown, sensitivity, 1 - sensitivity)),
        np.log(np.where(shown, 1 - specificity, specificity)),
    )
