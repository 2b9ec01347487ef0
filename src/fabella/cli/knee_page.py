"""One knee on the page: its lesions with bars, what speaks for and against them, what else is to be said."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rich.console import Console, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from fabella.cli.drawing import bar, cells_for, heading, labelled, paragraph, scale, strokes_for
from fabella.cli.words import Words, grounding_words
from fabella.report.imaging_words import image_name
from fabella.report.likelihood_words import chance, short, word_for
from fabella.report.readings import Outcome, Readings
from fabella.report.reason_words import leading, look_again, speaking_against, speaking_for
from fabella.report.wording import listed, lowered
from fabella.stats.written import percentage
from fabella.workup import ANY_LEVEL, Combination, KneeConclusion, LesionProbability, Reason

_EXPLAINED_FROM, _MOST_EXPLAINED = 0.20, 4
_MOST_FOR, _MOST_AGAINST, _MOST_TOGETHER, _MOST_ODD = 6, 3, 3, 4
_WEIGHS_BITS = 0.25  # a reason that moves the odds by less than a fifth is not worth a word (judgement)
_WORTH_A_LINE = 0.01


def knee_block(
    knee: KneeConclusion, words: Words, readings: Readings, *, top: int, console: Console
) -> Iterator[RenderableType]:
    """Yield what is concluded about one knee, in one line when it gives no trouble."""
    if is_quiet(knee):
        yield heading(f"{knee.side.capitalize()} knee")
        yield paragraph(_quiet(knee, words, readings))
        yield from _look_again(knee, words, readings)
        return
    complaint = "" if knee.symptomatic else ", not complained of"
    yield heading(f"{knee.side.capitalize()} knee{complaint}")
    if not knee.findings:
        yield paragraph("Nothing was examined or asked; what follows is only what is common.")
    if knee.fit.poor:
        yield paragraph(_poor_fit(knee, words), style="bold")
    yield from _look_again(knee, words, readings)
    entries = [each for each in knee.any_level() if each.probability >= _WORTH_A_LINE][:top]
    yield Padding(_table(entries, knee, words, console), (0, 0, 0, 2))
    for entry in entries[:_MOST_EXPLAINED]:
        if entry.probability >= _EXPLAINED_FROM:
            yield ""
            yield from _explained(entry, knee, words, readings)
    yield ""
    yield labelled(
        (
            ("together", _together(knee.combinations, words)),
            ("or", f"none of the lesions considered {percentage(knee.nothing_listed)}"),
            ("fit", "" if knee.fit.poor else _fit(knee, words)),
            ("images", listed([image_name(each) for each in knee.images])),
            ("not used", words.unused(knee.unused, knee.side, readings)),
        )
    )


def _look_again(knee: KneeConclusion, words: Words, readings: Readings) -> Iterator[RenderableType]:
    if said := look_again(knee.side, readings, words.protocol):
        yield paragraph(f"Look again: {lowered(said)}", style="bold")


def is_quiet(knee: KneeConclusion) -> bool:
    """Say whether a knee can be told in one line: not complained of, nothing likely, and the findings fit."""
    return not (knee.symptomatic or knee.fit.poor or knee.any_level()[0].probability >= _EXPLAINED_FROM)


def _quiet(knee: KneeConclusion, words: Words, readings: Readings) -> str:
    abnormal = readings.with_outcome(Outcome.ABNORMAL, knee.side)
    found = (
        f"{len(knee.findings)} {'finding' if len(knee.findings) == 1 else 'findings'}, "
        f"{len(abnormal) or 'none'} abnormal"
        if knee.findings
        else "not examined"
    )
    first = knee.any_level()[0]
    return (
        f"Not complained of; {found}. None of the lesions considered: {percentage(knee.nothing_listed)}; "
        f"likeliest {words.lesion(first.lesion)}, {percentage(first.probability)}."
    )


def _table(
    entries: Sequence[LesionProbability], knee: KneeConclusion, words: Words, console: Console
) -> RenderableType:
    cells, strokes = cells_for(console), strokes_for(console)
    table = Table.grid(padding=(0, 2, 0, 0))
    table.add_column(overflow="fold")
    table.add_column(no_wrap=True)
    table.add_column(no_wrap=True, justify="right")
    table.add_column(no_wrap=True)
    table.add_row("", Text(scale(cells), style="dim"), "", Text("90% interval", style="dim"))
    for entry in entries:
        levels = [each for each in knee.lesions if each.lesion == entry.lesion and each.level != ANY_LEVEL]
        for each in (entry, *(level for level in levels if level.probability >= _WORTH_A_LINE)):
            whole = each is entry
            name = words.lesion(each.lesion) if whole else f"  {words.level(each.lesion, each.level)}"
            drawn = bar(each.probability, each.low, each.high, cells=cells, strokes=strokes)
            said = chance(each.probability, low=each.low, high=each.high)
            table.add_row(
                Text(name, style="bold" if whole else ""),
                Text(drawn),
                Text(short(said.percent)),
                Text(short(said.interval)),
            )
    return table


def _explained(
    entry: LesionProbability, knee: KneeConclusion, words: Words, readings: Readings
) -> Iterator[RenderableType]:
    name = words.lesion(entry.lesion)
    yield paragraph(f"{name[:1].upper()}{name[1:]}: {word_for(entry.probability)}", style="bold")

    def said(reasons: Sequence[Reason]) -> str:
        return "; ".join(words.reason(each, knee.side, readings) for each in reasons)

    against = speaking_against(entry.reasons_against, words.protocol)
    weighty = [each for each in against if abs(each.weight_bits) >= _WEIGHS_BITS]
    yield labelled(
        (
            ("for", said(leading(speaking_for(entry.reasons_for), _MOST_FOR))),
            ("against", said(weighty[:_MOST_AGAINST])),
            ("pre-test", f"{percentage(entry.prior)}, from setting, age and mechanism alone"),
            ("rests on", grounding_words(entry.grounding)),
        ),
        indent=4,
    )


def _together(combinations: Sequence[Combination], words: Words) -> str:
    worth = [each for each in combinations[:_MOST_TOGETHER] if each.probability >= _WORTH_A_LINE]
    return "; ".join(f"{words.combination(each)} {percentage(each.probability)}" for each in worth)


def _fit(knee: KneeConclusion, words: Words) -> str:
    odd = f"; oddest: {words.signs(knee.fit.odd[:_MOST_ODD])}" if knee.fit.odd else ""
    return f"of knees like this, {percentage(knee.fit.p_value)} show findings at least as odd{odd}"


def _poor_fit(knee: KneeConclusion, words: Words) -> str:
    odd = listed([words.sign(each) for each in knee.fit.odd[:_MOST_ODD]])
    least = f", least of all {odd}" if odd else ""
    return (
        f"These findings fit nothing here well{least}. Of knees with these lesions, "
        f"{percentage(knee.fit.p_value)} show findings as odd; trust the percentages little."
    )
