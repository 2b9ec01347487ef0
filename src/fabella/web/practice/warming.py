"""What drawing a patient needs, compiled before somebody waits for it."""

from __future__ import annotations

import gc
from threading import Timer

from fabella.record import Acuity, Setting
from fabella.teach import Recipe, draw_patient

AFTER_SECONDS = 2.0
"""How long after the start: whoever opens the first page comes first. It takes a second or two."""


def draw_later() -> None:
    """Draw patients a while after the start, in a thread that ends with the server."""
    later = Timer(AFTER_SECONDS, draw_every_kind)
    later.daemon = True
    later.start()


def draw_every_kind() -> None:
    """Draw a patient of every setting and freshness, for which the model compiles tables that it keeps.

    These are then set apart from what the search for garbage goes through, which held a patient up as well.
    """
    for setting in Setting:
        for acuity in Acuity:
            draw_patient(Recipe(seed=0, setting=setting, acuity=acuity))
    gc.collect()
    gc.freeze()
