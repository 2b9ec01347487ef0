"""``fabella protocol``: the examination in order, or one sign in full."""

from collections.abc import Sequence
from dataclasses import asdict
from typing import Annotated

import typer
from rich.table import Table
from rich.text import Text

from fabella.cli.drawing import open_console
from fabella.cli.streams import print_json
from fabella.errors import UsageError
from fabella.protocol import Position, Protocol, Sign, load_protocol
from fabella.protocol.card import card, time_words
from fabella.protocol.page import as_markdown


def protocol(
    sign: Annotated[
        str | None, typer.Argument(help="Id of one sign, e.g. lachman.", show_default=False)
    ] = None,
    position: Annotated[
        str | None, typer.Option("--position", help="Only this position, e.g. lying.", show_default=False)
    ] = None,
    routine: Annotated[bool, typer.Option("--routine", help="Only what belongs to every knee.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print the data as JSON.")] = False,
    markdown: Annotated[
        bool, typer.Option("--markdown", help="Print the page of the documentation.")
    ] = False,
) -> None:
    """Show the examination in the order of the body, or everything about one sign."""
    whole = load_protocol()
    if markdown and (sign or position or routine or as_json):
        raise UsageError("--markdown prints the whole examination and goes with nothing else")
    if sign and (position or routine):
        raise UsageError("ask for one sign, or for a part of the examination, not for both")
    if markdown:
        print(as_markdown(whole), end="")
    elif sign:
        one = whole.sign(sign)
        print_json(asdict(one)) if as_json else _print_card(one, whole.position(one.position))
    else:
        parts = _parts(whole, position=position, routine=routine)
        if as_json:
            print_json([asdict(each) for _, signs in parts for each in signs])
        else:
            _print_sequence(whole, parts)


def _parts(whole: Protocol, *, position: str | None, routine: bool) -> list[tuple[Position, Sequence[Sign]]]:
    """Return the positions asked for with their signs, empty ones left out."""
    positions = whole.positions if position is None else (whole.position(position),)
    parts = [(each, [s for s in whole.at(each.id) if s.routine or not routine]) for each in positions]
    return [(each, signs) for each, signs in parts if signs]


def _print_card(sign: Sign, position: Position) -> None:
    table = Table(title=f"{sign.name} ({sign.id})", show_header=False, box=None, title_justify="left")
    for heading, text in card(sign, position):
        table.add_row(Text(heading, style="bold"), Text(text))
    open_console().print(table)


def _print_sequence(whole: Protocol, parts: list[tuple[Position, Sequence[Sign]]]) -> None:
    console = open_console()
    for position, signs in parts:
        seconds = whole.seconds(sign.id for sign in signs)
        title = f"{position.number}. {position.name} ({_minutes(seconds)} for both knees)"
        console.print(Text(title, style="bold"))
        console.print(Text(position.patient))
        table = Table(box=None, padding=(0, 1, 0, 0))
        for heading in ("id", "sign", "routine", "time", "hurts"):
            table.add_column(heading, no_wrap=heading in {"id", "time"}, overflow="fold")
        for sign in signs:
            every = "yes" if sign.routine else ""
            cells = (
                sign.id,
                sign.name,
                every,
                time_words(sign) if sign.seconds else "",
                str(sign.hurts or ""),
            )
            table.add_row(*map(Text, cells))
        console.print(table, "")
    ids = [sign.id for _, signs in parts for sign in signs]
    routine = [sign_id for sign_id in ids if whole.sign(sign_id).routine]
    console.print(
        f"Signs: {len(ids)}, {_minutes(whole.seconds(ids))}; "
        f"in every knee: {len(routine)}, {_minutes(whole.seconds(routine))}."
    )


def _minutes(seconds: int) -> str:
    return f"{seconds // 60} min {seconds % 60:02} s"
