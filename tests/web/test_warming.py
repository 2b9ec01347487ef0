"""What is compiled after the start, so that nobody waits for it."""

import gc
from datetime import date
from queue import Queue

import pytest
from django.template import engines

from fabella.anatomy import Side
from fabella.record import Acuity, Examination, Finding, Origin, Setting, State, Writing
from fabella.store.clinic.papers import paper
from fabella.teach import Recipe, draw_patient
from fabella.web import warming
from fabella.workup import run_workup


def test_after_warming_no_patient_waits_for_the_model(monkeypatch: pytest.MonkeyPatch) -> None:
    """Once every kind was drawn, a patient of any setting and freshness compiles no network and no sign."""
    warming.draw_every_kind()
    gc.unfreeze()  # tests go on in this process

    def compile_anew(*_: object, **__: object) -> None:
        """What must not happen."""
        raise AssertionError("compiled while somebody waits")

    monkeypatch.setattr("fabella.infer.model.Network", compile_anew)
    monkeypatch.setattr("fabella.infer.model.Sign", compile_anew)
    for setting in Setting:
        for acuity in Acuity:
            draw_patient(Recipe(seed=3, setting=setting, acuity=acuity))


def test_after_warming_no_page_waits_for_its_layout(monkeypatch: pytest.MonkeyPatch) -> None:
    """Once the papers of nobody were written, neither a page nor a drawing of them is read and compiled."""
    warming.write_for_nobody()

    def compile_anew(*_: object, **__: object) -> None:
        """What must not happen."""
        raise AssertionError("compiled while somebody waits")

    monkeypatch.setattr("jinja2.Environment.compile", compile_anew)
    for name in ("paper.html", "examine.html", "visit.html", "practice_debrief.html"):
        engines["jinja2"].get_template(name)
    lax = Finding(sign="lachman", side=Side.RIGHT, state=State.ABNORMAL, level="2+")
    examined = Examination(id="somebody", origin=Origin.INVENTED, findings=(lax,))
    written = paper(Writing.LETTER, run_workup(examined), written_on=date(2026, 11, 27), identity="INV-1")
    assert written.document.figure is not None


def test_work_is_done_in_its_time_and_by_nobody_who_waits(monkeypatch: pytest.MonkeyPatch) -> None:
    """The server goes on at once; what comes later is done later, each in its turn."""
    done: Queue[str] = Queue()
    work = ((0.2, lambda: done.put("second")), (0.0, lambda: done.put("first")))
    monkeypatch.setattr(warming, "WORK", work)
    warming.warm_later()
    assert [done.get(timeout=30), done.get(timeout=30)] == ["first", "second"]
