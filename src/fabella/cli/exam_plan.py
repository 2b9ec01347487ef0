"""``fabella exam plan``: the cheapest design that reaches a target, and what it would do when simulated."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path

import numpy as np
from rich.console import RenderableType

from fabella.assess import PlanFile, Priced, Trial, cheapest, plans_between, read_plan, trial
from fabella.cli.drawing import heading, labelled, open_console, paragraph, show
from fabella.cli.exam_files import in_file
from fabella.cli.streams import print_json
from fabella.cli.tables import text_table
from fabella.cli.whole_file import text_of
from fabella.errors import FabellaError
from fabella.report.wording import counted

_SEED = 1
_SHOWN = 8


def plan(path: Path, *, as_json: bool) -> None:
    """Choose the cheapest design of a plan and simulate it; the same file gives the same answer."""
    chosen = in_file(path, read_plan, text_of(path))
    ranked = cheapest(
        plans_between(
            candidates=chosen.candidates,
            stations=chosen.stations,
            examiners=chosen.examiners,
            circuits=chosen.circuits,
        ),
        spreads=chosen.spreads,
        rule=chosen.rule,
        costs=chosen.costs,
        target=chosen.target,
    )
    if not ranked:
        raise FabellaError(
            f"no design within these numbers reaches Phi {chosen.target:g} within "
            f"{chosen.costs.longest_h:g} hours; allow more stations, examiners, circuits or hours"
        )
    seen = trial(
        ranked[0].plan,
        spreads=chosen.spreads,
        rule=chosen.rule,
        stations_passed=chosen.stations_passed,
        exams=chosen.exams,
        dice=np.random.default_rng(_SEED),
    )
    if as_json:
        print_json(
            {
                "format": "fabella.exam-outlook/1",
                "designs": [asdict(each) for each in ranked[:_SHOWN]],
                "designs_that_reach_it": len(ranked),
                "simulated": asdict(seen),
            }
        )
    else:
        show(open_console(), _page(chosen, ranked, seen))


def _page(chosen: PlanFile, ranked: tuple[Priced, ...], seen: Trial) -> Iterator[RenderableType]:
    yield heading(f"Designs for {counted(chosen.candidates, 'candidate')} that reach Phi {chosen.target:g}")
    rows = [
        (
            "stations",
            "examiners",
            "circuits",
            "Phi",
            "G",
            "error",
            "cost",
            "hours",
            "false pass",
            "false fail",
        )
    ]
    for each in ranked[:_SHOWN]:
        plan_, will = each.plan, each.outlook
        rows.append(
            (
                str(plan_.stations),
                str(plan_.examiners),
                str(plan_.circuits),
                f"{will.phi:.2f}",
                f"{will.g:.2f}",
                f"{will.sem:.1f}",
                f"{each.cost:,.0f}",
                f"{each.hours:.1f}",
                f"{100 * will.false_pass:.1f}%",
                f"{100 * will.false_fail:.1f}%",
            )
        )
    yield text_table(rows)
    yield paragraph(
        f"The cheapest first, {min(len(ranked), _SHOWN)} of {len(ranked)}; examiners: at one station "
        "of one circuit."
    )
    yield heading(f"The cheapest, in {counted(seen.exams, 'simulated exam')}")
    yield labelled(
        (
            ("pass", f"{100 * seen.pass_rate:.1f}%"),
            ("wrongly", f"{100 * seen.false_pass:.1f}% pass and {100 * seen.false_fail:.1f}% fail"),
            (
                "stations",
                f"{100 * seen.stations_rule_alone:.1f}% fail by the number of stations alone"
                if chosen.stations_passed
                else "",
            ),
        )
    )
    yield paragraph("Spreads and costs are those of the file; scores are taken to be normal.", style="dim")
