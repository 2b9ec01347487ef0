"""What judges of Angoff's method expect of each station, from estimates of stations or of items."""

from __future__ import annotations

import numpy as np

from fabella.assess.angoff_rounds import Estimates
from fabella.assess.blueprint import Blueprint
from fabella.assess.marks import Numbers
from fabella.errors import InputError, Problem


def judged_share(blueprint: Blueprint, estimates: Estimates) -> Numbers:
    """Return the share of each station's marks that each judge expects, shape (judges, stations).

    Parameters
    ----------
    blueprint
        The exam.
    estimates
        Of every station by its code, or of every item as ``station/item``; their maxima are the exam's.

    Raises
    ------
    InputError
        When they name neither all stations nor all items.
    """
    share = np.array(estimates.share)
    by_item = [f"{s.code}/{item.code}" for s in blueprint.stations for item in s.items]
    for names in (list(blueprint.station_codes), by_item):
        if sorted(estimates.items) == sorted(names):
            share = share[:, [estimates.items.index(name) for name in names]]
            if names is not by_item:
                return share
            worth = [np.array([i.weight * i.max_mark for i in s.items]) for s in blueprint.stations]
            ends = np.cumsum([len(each) for each in worth])
            parts = np.split(share, ends[:-1], axis=1)
            return np.stack([p @ w / w.sum() for p, w in zip(parts, worth, strict=True)], axis=1)
    missing = sorted(set(blueprint.station_codes) - set(estimates.items))
    remedy = "estimate every station by its code, or every item as station/item"
    raise InputError(
        [Problem(place="estimates", value=", ".join(missing), says="are not estimated", remedy=remedy)]
    )
