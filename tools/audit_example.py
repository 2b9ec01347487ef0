# ruff: noqa: INP001 - a script by itself
"""Make ``examples/audit``: examinations drawn from the model, and what scans and operations showed of some.

Everything is invented. The examiner is made to miss three of four pivot shifts, so that there is something to
find. Knees in which an injury is suspected are looked into, others seldom, as in a clinic.

    python tools/audit_example.py examples/audit
"""

from __future__ import annotations

import sys
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np

from fabella.hands import ABSENT, Confirmation, Method, write_confirmation
from fabella.protocol import load_protocol
from fabella.record import (
    Context,
    Examination,
    Finding,
    Mechanism,
    Patient,
    Setting,
    State,
    write_examination,
)
from fabella.workup import Drawn, draw_examinations, drawable, load_model

SIGNS = (
    *("pop_heard", "giving_way", "locking", "effusion_sweep", "joint_line_tenderness_medial"),
    *("joint_line_tenderness_lateral", "lachman", "anterior_drawer", "pivot_shift"),
    *("valgus_stress_30", "mcmurray_medial", "mcmurray_lateral"),
)
LOOKED_FOR = (
    *("acl_tear", "pcl_tear", "mcl_tear", "lcl_tear", "medial_meniscus_tear", "lateral_meniscus_tear"),
    *("osteochondral_lesion", "patellar_instability", "osteoarthritis"),
)
EXAMINATIONS = 120
MISSED, SUSPECTED, OTHERS, OPERATED = 0.75, 0.9, 0.25, 0.3  # chances
FIRST = date(2026, 1, 5)


def main(folder: Path) -> None:
    """Write both files."""
    rng = np.random.default_rng(11)
    model, protocol = load_model(), load_protocol()
    drawn = draw_examinations(
        model,
        drawable(model, protocol, list(SIGNS), routine=False),
        EXAMINATIONS,
        rng,
        patient=Patient(age_years=27),
        context=Context(setting=Setting.SPORTS_CLINIC, mechanism=Mechanism.TWIST),
        name="invented",
    )
    folder.mkdir(parents=True, exist_ok=True)
    with (
        (folder / "examinations.jsonl").open("w", encoding="utf-8") as examinations,
        (folder / "confirmed.jsonl").open("w", encoding="utf-8") as confirmed,
    ):
        for number, each in enumerate(drawn):
            day = FIRST + timedelta(days=2 * number)
            seen = _examined(each.examination, day, rng)
            examinations.write(write_examination(seen, one_line=True))
            if rng.random() < (SUSPECTED if _is_suspected(seen) else OTHERS):
                confirmed.write(write_confirmation(_confirmation(each, day, rng)))


def _examined(examination: Examination, day: date, rng: np.random.Generator) -> Examination:
    """Return the examination as this examiner records it."""
    return replace(
        examination,
        examined_on=day,
        findings=tuple(_felt(each, rng) for each in examination.findings),
    )


def _felt(finding: Finding, rng: np.random.Generator) -> Finding:
    if finding.sign == "pivot_shift" and finding.state is State.ABNORMAL and rng.random() < MISSED:
        return Finding(sign=finding.sign, side=finding.side, state=State.NORMAL)
    return finding


def _is_suspected(examination: Examination) -> bool:
    telling = {"lachman", "anterior_drawer", "mcmurray_medial", "mcmurray_lateral", "valgus_stress_30"}
    return any(
        each.sign in telling and each.state is State.ABNORMAL and each.side in examination.context.complaint
        for each in examination.findings
    )


def _confirmation(drawn: Drawn, day: date, rng: np.random.Generator) -> Confirmation:
    (side,) = drawn.examination.context.complaint
    there = dict(drawn.lesions[side])
    operated = rng.random() < OPERATED
    return Confirmation(
        examination=drawn.examination.id,
        side=side,
        on=day + timedelta(days=int(rng.integers(7, 40))),
        method=Method.ARTHROSCOPY if operated else Method.MRI,
        found={lesion: there.get(lesion, ABSENT) for lesion in LOOKED_FOR},
    )


if __name__ == "__main__":
    main(Path(sys.argv[1]))
