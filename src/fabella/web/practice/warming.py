"""What drawing a patient needs, compiled before somebody waits for it."""

from __future__ import annotations

import gc

from fabella.record import Acuity, Setting
from fabella.teach import Recipe, draw_patient


def draw_every_kind() -> None:
    """Draw a patient of every setting and freshness, for which the model compiles tables that it keeps.

    It takes a second or two. The tables are then set apart from what the search for garbage goes through,
    which held a patient up as well.
    """
    for setting in Setting:
        for acuity in Acuity:
            draw_patient(Recipe(seed=0, setting=setting, acuity=acuity))
    gc.collect()
    gc.freeze()
