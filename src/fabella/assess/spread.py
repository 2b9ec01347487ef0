"""How far each examiner spreads candidates, and which examiners tell no one apart.

Marks come in few steps, so that a few of them are often the same by chance; the F test, made for marks
without steps, takes that for a spread of 0 that cannot be chance. Who seems to mark all alike is therefore
held against as many marks drawn from the other examiners' (bootstrap, Efron 1979 Ann Stat 7:1, from memory).
"""

from dataclasses import dataclass

import numpy as np
import scipy
from numpy.typing import ArrayLike

from fabella.assess.gstudy_design import Array, Codes, check_lengths, coded

_RARE = 0.001  # chance below which so small a spread is told; ours
_DRAWS = 9999
_ALIKE = 1e-9  # of squares: what differs by less differs by the rounding of sums alone


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Spread:
    """How far each examiner's marks lie apart, in ascending order of codes.

    Parameters
    ----------
    sd, others
        SD of this examiner's marks about their own means at each station, and that of all other examiners
        [mark]; NaN for an examiner with one mark a station.
    p
        Chance of so small a spread if examiners did not differ in it [-]: by F, and for those whom `alike`
        would name by drawing as many marks from cells of the others, since few marks in few steps are often
        the same by chance, which F does not know.
    commonest
        Share of the mark this examiner gives most often [-].
    n
        Marks given [-].
    """

    sd: Array
    others: Array
    p: Array
    commonest: Array
    n: Codes

    @property
    def alike(self) -> Codes:
        """Return examiners who mark all much the same: half the others' spread or less, p below 0.001.

        The limits are ours; marks of a narrow group of candidates look the same.
        """
        return np.flatnonzero((self.sd <= self.others / 2) & (self.p < _RARE))


def spread(score: ArrayLike, *, station: ArrayLike, examiner: ArrayLike) -> Spread:
    """Return how far each examiner spreads candidates, compared with the other examiners.

    Parameters
    ----------
    score
        Station scores or grades [mark], shape (n,).
    station, examiner
        Codes, shape (n,).
    """
    y = np.asarray(score, dtype=np.float64)
    station, examiner = coded(station), coded(examiner)
    check_lengths(y, {"station": station, "examiner": examiner})
    cell = coded(station * (int(examiner.max()) + 1) + examiner)
    means = np.bincount(cell, weights=y) / np.bincount(cell)
    square = np.bincount(examiner, weights=(y - means[cell]) ** 2)
    n = np.bincount(examiner)
    owner = np.zeros(int(cell.max()) + 1, dtype=np.intp)
    owner[cell] = examiner
    df = n - np.bincount(owner, minlength=len(n))
    with np.errstate(invalid="ignore", divide="ignore"):
        own = np.where(df > 0, square / df, np.nan)
        rest_df = df.sum() - df
        rest = np.where(rest_df > 0, (square.sum() - square) / rest_df, np.nan)
        p = np.array(scipy.stats.f.cdf(own / rest, df, rest_df), dtype=np.float64)
    named = np.flatnonzero((np.sqrt(own) <= np.sqrt(rest) / 2) & (p < _RARE))
    p[named] = [_by_drawing(y, cell, owner, examiner=int(r), square=float(square[r])) for r in named]
    commonest = [np.unique(y[examiner == r], return_counts=True)[1].max() / n[r] for r in range(len(n))]
    return Spread(sd=np.sqrt(own), others=np.sqrt(rest), p=p, commonest=np.array(commonest), n=n)


def _by_drawing(y: Array, cell: Codes, owner: Codes, *, examiner: int, square: float) -> float:
    """Return how often marks drawn from other examiners' cells, as many to a cell, lie as near together.

    The dice are the same for everyone, and their raw bits do not change from release to release.
    """
    size = np.bincount(cell)
    first, marks = np.cumsum(size) - size, y[np.argsort(cell, kind="stable")]
    others = np.flatnonzero((owner != examiner) & (size > 1))
    dice, found = np.random.PCG64(0), np.zeros(_DRAWS)

    def shares(*shape: int) -> Array:
        drawn = (dice.random_raw(int(np.prod(shape))) >> np.uint64(11)) * 2.0**-53
        return np.asarray(drawn.reshape(shape), dtype=np.float64)

    for n in size[owner == examiner].tolist():
        here = others[(shares(_DRAWS) * len(others)).astype(np.intp)]
        place = (shares(_DRAWS, n) * size[here, None]).astype(np.intp)
        drawn = marks[first[here, None] + place]
        found += ((drawn - drawn.mean(axis=1, keepdims=True)) ** 2).sum(axis=1)
    return (1 + int((found <= square * (1 + _ALIKE) + _ALIKE).sum())) / (1 + _DRAWS)
