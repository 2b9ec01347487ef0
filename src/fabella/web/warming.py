"""What somebody would wait for, worked out after the start before anybody does."""

from __future__ import annotations

import gc
from collections.abc import Callable
from datetime import date
from threading import Timer

from django.template import engines

from fabella.evidence import load_edition
from fabella.evidence.pool_model import LEVEL, POOLED, TARGET
from fabella.record import Acuity, Examination, Origin, Setting, Writing
from fabella.report.roc import roc
from fabella.store.clinic.papers import paper
from fabella.teach import Recipe, draw_patient
from fabella.web.concluding import live, workup_of
from fabella.web.templating import TEMPLATES
from fabella.workup import tellings

WRITTEN_AFTER_S, DRAWN_AFTER_S, POOLED_AFTER_S = 0.5, 2.0, 20.0
"""How long after the start: whoever opens the first page comes first."""


NOBODY = Examination(id="nobody", origin=Origin.INVENTED)


def conclude_for_nobody() -> None:
    """Conclude an empty examination, so that other processes are there for the first patient."""
    live(NOBODY)


def write_for_nobody() -> None:
    """Read how every page is laid out, and write the papers of an empty examination: half a second."""
    for layout in (path for folder in TEMPLATES for path in folder.glob("*.html")):
        engines["jinja2"].get_template(layout.name)
    for writing in Writing:
        paper(writing, workup_of(NOBODY), written_on=date.min, identity="")


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


def pool_and_compile() -> None:
    """Pool the studies and compile what every sign tells, for the pages of the evidence; both are kept."""
    for sign in POOLED:
        roc(load_edition(), sign, TARGET, LEVEL)
    tellings()


WORK: tuple[tuple[float, Callable[[], object]], ...] = (
    (0.0, conclude_for_nobody),
    (WRITTEN_AFTER_S, write_for_nobody),
    (DRAWN_AFTER_S, draw_every_kind),
    (POOLED_AFTER_S, pool_and_compile),
)
"""What is worked out, and how many seconds after the start."""


def warm_later() -> None:
    """Work everything out in its time, in threads that end with the server."""
    for after_s, work in WORK:
        later = Timer(after_s, work)
        later.daemon = True
        later.start()
