"""The standard error of measurement of each candidate, over the stations that they took.

A score is a mean over stations, and what candidates by stations (and examiners) add to its error is averaged
over them: in a D study of n' stations that all count alike it is s²/n', with shares w of the whole score it
is s² sum w². Of the error of the whole exam, one who took other stations therefore has the root of
``sum w'² / sum w²``: of 6 of 8 stations that count alike, sqrt(8/6). Stations are taken as alike in what they
add, as everywhere in such a study. Source: Brennan 2001 Generalizability Theory, sections 2.2 and 4.1, and
7.1 on persons with unlike numbers of conditions (from memory; the coefficients printed for fewer items are
the tests).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fabella.assess.marks import Numbers
from fabella.assess.scores import weighted_mean


def own_errors(sem: float, station: Numbers, weights: Numbers, *, over: Sequence[int]) -> Numbers:
    """Return the standard error of each candidate's score, in the unit of ``sem``, shape (candidates,).

    Parameters
    ----------
    sem
        Of one who took the stations ``over`` [%].
    station
        Scores, shape (candidates, stations); NaN where one was not taken.
    weights
        What each station counts, above 0, shape (stations,).
    over
        Positions of the stations that the whole score is of; NaN for all comes of none, as for a candidate
        without any.
    """
    whole = np.full((1, len(weights)), np.nan)
    whole[:, list(over)] = 0.0
    return np.asarray(sem * np.sqrt(_carried(station, weights) / _carried(whole, weights)))


def _carried(station: Numbers, weights: Numbers) -> Numbers:
    """Return the sum of the squared shares of the stations taken [-], shape (candidates,), or NaN."""
    there = np.where(np.isnan(station), np.nan, 1.0)
    mean_weight, taken = weighted_mean(there * weights, weights)  # sum w² / sum w
    with np.errstate(invalid="ignore"):
        return np.asarray(mean_weight / taken)
