"""``fabella evidence``: what is published on a sign, which number is used and why."""

import dataclasses
import json
from collections.abc import Iterator
from typing import Annotated, Any

import typer
from rich.console import Console, RenderableType
from rich.text import Text

from fabella.cli.drawing import bar, cells_for, heading, labelled, open_console, paragraph, show, strokes_for
from fabella.errors import UsageError
from fabella.evidence import (
    LATEST,
    Acuity,
    Edition,
    Setting,
    SignEvidence,
    SourceEvidence,
    describe,
    describe_source,
    load_edition,
    signs,
)
from fabella.evidence.dossier import AgreementRow, PlainNumber, Question, Rival, SignSummary
from fabella.evidence.knowledge import load_knowledge
from fabella.report.forest import UsedRow, forest
from fabella.report.wording import counted


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
        print(json.dumps(_plain(answer, tables), ensure_ascii=False, indent=2))
    else:
        _show(answer, tables)


def _plain(answer: SignEvidence | SourceEvidence | tuple[SignSummary, ...], edition: Edition) -> Any:
    if isinstance(answer, tuple):
        return [dataclasses.asdict(each) for each in answer]
    tree = dataclasses.asdict(answer)
    if isinstance(answer, SignEvidence):
        for question, asked in zip(tree["questions"], answer.questions, strict=True):
            question["model_uses"] = [
                {
                    "sensitivity": each.sensitivity.words,
                    "specificity": each.specificity.words,
                    "where": each.where,
                    "pooled_by_us": each.by_us,
                    "because": each.why,
                }
                for each in _taken(answer, asked, edition)
            ]
    return tree


def _taken(answer: SignEvidence, question: Question, edition: Edition) -> tuple[UsedRow, ...]:
    """Return the numbers on a question that the model of the knee is fitted to."""
    asked = forest(
        edition, load_knowledge(), answer.sign_id, target=question.target, read=question.finding_level
    )
    return tuple(each for each in asked.used if each.sign == answer.sign_id)


def _show(answer: SignEvidence | SourceEvidence | tuple[SignSummary, ...], edition: Edition) -> None:
    console = open_console()
    if isinstance(answer, SignEvidence):
        show(console, _sign_page(console, answer, edition))
    elif isinstance(answer, SourceEvidence):
        show(console, _source_page(answer))
    else:
        show(console, _list_page(answer, edition.id))


def _list_page(answer: tuple[SignSummary, ...], edition_id: str) -> Iterator[RenderableType]:
    yield heading(f"Signs with evidence, edition {edition_id}")
    rows = ((each.sign_id, f"{each.name}: {_counted(each)}") for each in answer)
    yield labelled(rows, gap=2)
    yield paragraph("One sign: fabella evidence lachman")


def _counted(each: SignSummary) -> str:
    counts = ((each.accuracy_sources, "accuracy"), (each.agreement_sources, "agreement"))
    said = (f"{counted(count, 'source')} on {what}" for count, what in counts if count)
    return ", ".join(said) or "nothing measured"


def _sign_page(console: Console, answer: SignEvidence, edition: Edition) -> Iterator[RenderableType]:
    yield Text(f"{answer.name} ({answer.sign_id}), edition {answer.edition}", style="bold")
    for question in answer.questions:
        yield Text()
        yield heading(f"{_words(question.target)}: {question.finding_level}")
        first = next((rival.source.citation for rival in question.rivals if rival.used), "none")
        taken = [
            f"sensitivity {each.sensitivity.words}, specificity {each.specificity.words}, {each.where}"
            + (f": {each.why}" if each.why else "")
            for each in _taken(answer, question, edition)
        ]
        yield labelled(
            (
                ("the model uses", "; ".join(taken) or "no number from here"),
                ("first in order", first),
                ("because", question.reason),
            )
        )
        for rival in question.rivals:
            yield Text()
            yield from _rival(console, rival)
    if answer.agreement:
        yield Text()
        yield heading("Agreement between examiners")
        yield labelled((_agreed(row), _agreement(row)) for row in answer.agreement)
    for gap in answer.gaps:
        yield paragraph(f"Not found: {gap}")


def _rival(console: Console, rival: Rival) -> Iterator[RenderableType]:
    """Yield one source: its name and place, its bars on a scale from 0 to 1, and what stands beside them."""
    style = "bold" if rival.used else "dim" if rival.barred else ""
    yield paragraph(f"{_source(rival)}: {rival.reason}", style=style)
    beside = (
        ("LR+", _number(rival.lr_positive)),
        ("LR−", _number(rival.lr_negative)),
        ("knees", "" if rival.knees is None else str(rival.knees)),
        ("in whom", _whom(rival)),
    )
    drawn = (
        ("sensitivity", _drawn(console, rival.sensitivity)),
        ("specificity", _drawn(console, rival.specificity)),
    )
    line = "; ".join(f"{name} {value}" for name, value in beside if value)
    yield labelled((*drawn, ("", line)), indent=4, style=style)


def _drawn(console: Console, number: PlainNumber | None) -> str:
    """Return a bar with its number; without a drawn interval when none was printed."""
    if number is None or number.value is None:
        return _number(number)
    low = number.value if number.low is None else min(number.low, number.value)
    high = number.value if number.high is None else max(number.high, number.value)
    drawn = bar(number.value, low, high, cells=cells_for(console), strokes=strokes_for(console))
    return f"{drawn}  {_number(number)}"


def _agreed(row: AgreementRow) -> str:
    return _with_standing(row.source.short, row.standing)


def _agreement(row: AgreementRow) -> str:
    what = " ".join(filter(None, (row.name + ":", _words(row.statistic), _words(row.summary))))
    value = _number(row.number) or row.notes
    return ", ".join(filter(None, (f"{what} {value}", _words(row.comparison), row.population)))


def _source_page(answer: SourceEvidence) -> Iterator[RenderableType]:
    source = answer.source
    recalled = f"{answer.recalled} of {sum(answer.rows.values())} rows are values from memory"
    yield Text(source.citation, style="bold")
    for line in filter(None, (source.identifier, _words(source.kind), source.remark)):
        yield paragraph(line)
    if answer.recalled:
        yield paragraph(f"{recalled}, original not re-read")
    yield heading(f"Taken from it, edition {answer.edition}")
    yield labelled(
        (f"{_words(kind)} {count}", ", ".join(answer.subjects[kind])) for kind, count in answer.rows.items()
    )


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
