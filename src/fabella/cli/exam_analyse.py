"""``fabella exam analyse`` and ``compare``: pages, JSON, and files that give the same again."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping
from dataclasses import asdict
from math import isnan
from pathlib import Path

from rich.console import Console, RenderableType

from fabella.assess import (
    Alternative,
    Analysis,
    Marks,
    Rules,
    alternatives,
    analyse,
    analysis_tree,
    compare,
    held_against,
    space_grades,
    write_analysis,
    write_blueprint,
    write_marks,
    write_results,
    write_rules,
)
from fabella.cli.drawing import bar, cells_for, heading, open_console, paragraph, show, strokes_for
from fabella.cli.exam_page import analysis_page
from fabella.cli.streams import print_json
from fabella.cli.tables import text_table
from fabella.cli.whole_file import made_folder, write_whole
from fabella.papers import decision_table
from fabella.papers.words import METHODS, range_words, share_words
from fabella.report.wording import counted

_WIDE = 112  # characters, below which there are no bars
_NAMED = 8  # candidates whose outcome would change, beyond which they are only counted


def run_analysis(
    marks: Marks, rules: Rules, *, at_random: bool, target: float, out: Path | None, as_json: bool
) -> None:
    """Analyse an exam, print it, and write what is needed to do so again."""
    found = analyse(marks, rules, at_random=at_random, target=target)
    if out is not None:
        write_files(out, frozen(marks, rules, found))
    if as_json:
        print_json(analysis_tree(marks, found))
    else:
        console = open_console()
        show(console, analysis_page(found, console=console, target=target))


def frozen(marks: Marks, rules: Rules, found: Analysis) -> dict[str, str]:
    """Return the marks, blueprint and rules as frozen, and what they give, by the names of their files."""
    return {
        "marks.csv": write_marks(marks),
        "blueprint.json": write_blueprint(marks.blueprint) + "\n",
        "rules.json": write_rules(rules) + "\n",
        "results.json": write_results(found.results),
        "analysis.json": write_analysis(marks, found),
        "decisions.csv": decision_table(map(asdict, found.results.decisions)),
    }


def write_files(folder: Path, files: Mapping[str, str | bytes]) -> None:
    """Write files into a folder, made if need be."""
    made_folder(folder)
    for name, content in files.items():
        write_whole(folder / name, content.encode() if isinstance(content, str) else content)
    print(f"fabella: wrote {', '.join(files)} into {folder}", file=sys.stderr)


def run_comparison(marks: Marks, rules: Rules, *, as_json: bool) -> None:
    """Put every method there is material for beside the chosen one."""
    found = list(compare(marks, alternatives(rules)))
    spaced = _spaced(marks, rules, found[0])
    if as_json:
        print_json(
            {
                "format": "fabella.exam-comparison/1",
                "methods": [_tree(*each) for each in _named(found, spaced)],
            }
        )
        return
    console = open_console()
    show(console, _comparison(console, found, spaced))


def _spaced(marks: Marks, rules: Rules, first: Alternative) -> Alternative | None:
    """Return what the chosen method would do with grades as far apart as examiners placed them."""
    if first.results is None or not first.results.pass_mark.lines or len(marks.blueprint.grades.values) != 5:  # noqa: PLR2004
        return None
    other = compare(space_grades(marks), (rules,))[0]
    return None if other.results is None else held_against(first.results, other.results)


def _named(found: list[Alternative], spaced: Alternative | None) -> Iterator[tuple[str, Alternative]]:
    for each in found:
        yield METHODS[each.method], each
    if spaced:
        yield f"{METHODS[spaced.method]}, grades as examiners space them", spaced


def _comparison(
    console: Console, found: list[Alternative], spaced: Alternative | None
) -> Iterator[RenderableType]:
    yield heading("Methods side by side")
    wide = console.width >= _WIDE
    bars = ["0 to 100%"] if wide else []
    rows = [("method", "pass mark", "95% interval", *bars, "pass", "would fail", "would pass")]
    cells, strokes = cells_for(console), strokes_for(console)
    for name, each in _named(found, spaced):
        if each.results is None:
            rows.append((name, "–", "", *[""] * len(bars), "", "", ""))
            continue
        cut = each.results.pass_mark.cut
        ends = (cut.estimate, cut.estimate) if isnan(cut.low) else (cut.low, cut.high)
        at, low, high = (min(max(value / 100, 0.0), 1.0) for value in (cut.estimate, *ends))
        rows.append(
            (
                name,
                f"{cut.estimate:.1f}",
                range_words(cut),
                *([bar(at, min(low, at), max(high, at), cells=cells, strokes=strokes)] if wide else []),
                share_words(each.pass_rate),
                _who(each.newly_failed),
                _who(each.newly_passed),
            )
        )
    yield text_table(rows, wrapped=("method", "would fail", "would pass"))
    for name, each in _named(found, spaced):
        if each.refusal:
            first, *more = each.refusal.splitlines()
            rest = f" (and so {counted(len(more), 'station')} more)" if more else ""
            yield paragraph(f"{name}: {first}{rest}")
    yield paragraph(
        "Would fail and would pass: those for whom the method would change what the first one decides. The "
        "method is chosen before the day; this shows what rests on the choice.",
        style="dim",
    )


def _who(candidates: tuple[str, ...]) -> str:
    if len(candidates) > _NAMED:
        return str(len(candidates))
    return ", ".join(candidates)


def _tree(name: str, each: Alternative) -> dict[str, object]:
    cut = each.results.pass_mark.cut if each.results else None
    numbers = {} if cut is None else {"cut": cut.estimate, "low": cut.low, "high": cut.high}
    rate = {} if cut is None else {"pass_rate": each.pass_rate}
    return {
        "method": each.method.value,
        "name": name,
        **{key: None if isnan(value) else round(value, 6) for key, value in {**numbers, **rate}.items()},
        "newly_failed": list(each.newly_failed),
        "newly_passed": list(each.newly_passed),
        "refusal": each.refusal,
    }
