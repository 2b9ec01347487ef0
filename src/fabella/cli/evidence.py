"""``fabella evidence``: what is published on a sign, which number is used and why."""

import dataclasses
import json
from typing import Annotated, Any

import typer
from rich.console import Console
from rich.table import Table
from rich.text import Text

from fabella.errors import UsageError
from fabella.evidence import (
    LATEST,
    Acuity,
    Setting,
    SignEvidence,
    SourceEvidence,
    describe,
    describe_source,
    load_edition,
    signs,
)
from fabella.evidence.dossier import AgreementRow, PlainNumber, Question, Rival, SignSummary


def evidence(
    sign: Annotated[
        str | None, typer.Argument(help="A sign, e.g. lachman; without it, the list of signs.")
    ] = None,
    *,
    source: Annotated[
        str | None, typer.Option(help="What is taken from one source, e.g. sokal_2022.")
    ] = None,
    setting: Annotated[Setting | None, typer.Option(help="Where the answer is to be used.")] = None,
    acuity: Annotated[Acuity | None, typer.Option(help="How long after the injury or onset.")] = None,
    edition: Annotated[str, typer.Option(help="Edition of the evidence tables.")] = LATEST,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """Show what is published on a sign, which of rival numbers is used and why."""
    if sign is not None and source is not None:
        raise UsageError("ask for a sign or for --source, not for both")
    tables = load_edition(edition)
    answer: SignEvidence | SourceEvidence | tuple[SignSummary, ...]
    if source is not None:
        answer = describe_source(tables, source)
    elif sign is not None:
        answer = describe(tables, sign, setting=setting, acuity=acuity)
    else:
        answer = signs(tables)
    if as_json:
        print(json.dumps(_plain(answer), ensure_ascii=False, indent=2))
    else:
        _show(answer, tables.id)


def _plain(answer: SignEvidence | SourceEvidence | tuple[SignSummary, ...]) -> Any:
    return (
        [dataclasses.asdict(each) for each in answer]
        if isinstance(answer, tuple)
        else dataclasses.asdict(answer)
    )


def _show(answer: SignEvidence | SourceEvidence | tuple[SignSummary, ...], edition_id: str) -> None:
    console = Console(highlight=False)
    if isinstance(answer, SignEvidence):
        _show_sign(console, answer)
    elif isinstance(answer, SourceEvidence):
        _show_source(console, answer)
    else:
        table = _table(f"Signs with evidence, edition {edition_id}", "sign", "name", "accuracy", "agreement")
        for each in answer:
            _add(table, each.sign_id, each.name, str(each.accuracy_sources), str(each.agreement_sources))
        console.print(table)
        console.print("Numbers are counts of sources. One sign: fabella evidence lachman", markup=False)


def _show_sign(console: Console, answer: SignEvidence) -> None:
    console.print(f"{answer.name} ({answer.sign_id}), edition {answer.edition}", markup=False)
    for question in answer.questions:
        console.print()
        console.print(_rivals(question))
        used = next((rival.source.citation for rival in question.rivals if rival.used), "none")
        console.print(f"Used: {used}. Why: {question.reason}.", markup=False)
    if answer.agreement:
        console.print()
        console.print(_agreement(answer.agreement))
    for gap in answer.gaps:
        console.print(f"Not found: {gap}", markup=False)


def _rivals(question: Question) -> Table:
    title = f"{_words(question.target)}: {question.finding_level}"
    table = _table(title, "source", "sensitivity", "specificity", "LR+", "LR−", "knees", "in whom", "place")
    for rival in question.rivals:
        _add(
            table,
            _source(rival),
            _number(rival.sensitivity),
            _number(rival.specificity),
            _number(rival.lr_positive),
            _number(rival.lr_negative),
            "" if rival.knees is None else str(rival.knees),
            _whom(rival),
            rival.reason,
            style="bold" if rival.used else "dim" if rival.barred else "",
        )
    return table


def _agreement(rows: tuple[AgreementRow, ...]) -> Table:
    table = _table("agreement", "source", "what", "between", "value", "in whom")
    for row in rows:
        what = " ".join(filter(None, (row.name + ":", _words(row.statistic), _words(row.summary))))
        value = _number(row.number) or row.notes
        _add(
            table,
            _with_standing(row.source.short, row.standing),
            what,
            _words(row.comparison),
            value,
            row.population,
        )
    return table


def _show_source(console: Console, answer: SourceEvidence) -> None:
    source = answer.source
    lines = (
        source.citation,
        source.identifier,
        _words(source.kind),
        source.remark,
        f"{answer.recalled} of {sum(answer.rows.values())} rows are values from memory, original not re-read"
        if answer.recalled
        else "",
    )
    for line in filter(None, lines):
        console.print(line, markup=False)
    table = _table(f"Taken from it, edition {answer.edition}", "table", "rows", "about")
    for kind, count in answer.rows.items():
        _add(table, _words(kind), str(count), ", ".join(answer.subjects[kind]))
    console.print(table)


def _table(title: str, *columns: str) -> Table:
    table = Table(title=title, title_justify="left", title_style="bold")
    for column in columns:
        table.add_column(column, overflow="fold")
    return table


def _add(table: Table, *cells: str, style: str = "") -> None:
    table.add_row(*map(Text, cells), style=style)


def _source(rival: Rival) -> str:
    return _with_standing(rival.source.short, rival.standing)


def _with_standing(name: str, standing: str) -> str:
    return name if standing == "published" else f"{name} ({standing.removeprefix('published; ')})"


def _whom(rival: Rival) -> str:
    awake = "" if rival.anaesthesia == "unstated" else rival.anaesthesia
    return ", ".join(filter(None, (_words(rival.setting), _words(rival.acuity), awake)))


def _number(number: PlainNumber | None) -> str:
    if number is None:
        return ""
    ends = ["…" if end is None else f"{end:g}" for end in (number.low, number.high)]
    between = " to ".join(ends) if number.interval != "none" else ""
    kind = "" if number.interval == "confidence" else f"{number.interval} "
    if number.value is None:
        return f"{kind}{between}"
    return f"{number.value:g} ({kind}{between})" if between else f"{number.value:g}"


def _words(name: str) -> str:
    return name.replace("_", " ")
