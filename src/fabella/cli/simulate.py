"""``fabella simulate``: examinations drawn from the model, one a line, and apart from them what is true."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from math import isnan
from pathlib import Path
from typing import Annotated

import numpy as np
import typer

from fabella.anatomy import load_lesions
from fabella.cli.intake import JsonAnyway
from fabella.cli.whole_file import writing
from fabella.errors import UsageError
from fabella.protocol import load_protocol
from fabella.record import Acuity, Context, Mechanism, Patient, Setting, Sex, write_examination
from fabella.workup import Drawn, draw_examinations, drawable, load_model

_ROUTINE, _ALL = "routine", "all"


def simulate(
    n: Annotated[int, typer.Option("--n", min=1, help="How many examinations.")] = 10,
    *,
    setting: Annotated[Setting | None, typer.Option(help="Where the patients are seen.")] = None,
    acuity: Annotated[Acuity | None, typer.Option(help="How fresh their complaint is.")] = None,
    age: Annotated[float | None, typer.Option(min=0, max=120, help="Their age in years.")] = None,
    sex: Annotated[Sex | None, typer.Option(help="Their sex.")] = None,
    mechanism: Annotated[Mechanism | None, typer.Option(help="How it came about.")] = None,
    signs: Annotated[
        str, typer.Option("--signs", help="routine, all, or signs separated by commas.")
    ] = _ROUTINE,
    lesion: Annotated[
        list[str] | None,
        typer.Option(
            "--lesion",
            help="What every knee complained of has, e.g. acl_tear:complete; may be repeated.",
        ),
    ] = None,
    seed: Annotated[int, typer.Option(min=0, help="Of the dice; the same seed draws the same.")] = 1,
    out: Annotated[
        Path | None,
        typer.Option("--out", dir_okay=False, help="Write to this file."),
    ] = None,
    truth: Annotated[
        Path | None,
        typer.Option("--truth", dir_okay=False, help="Write what is true of each to this file."),
    ] = None,
    as_json: JsonAnyway = False,  # noqa: ARG001  there is nothing to choose
) -> None:
    """Draw examinations from the model of the knee, one a line, as simulated patients.

    The knee complained of is drawn with its findings from the circumstances given, the other from knees
    without complaint. What is left out stays unknown. Only --truth tells what is true of them.
    What is written is JSON, with --json or without.
    """
    model, protocol = load_model(), load_protocol()
    if age is not None and isnan(age):
        raise UsageError("--age is no number")
    if out is not None and truth is not None and out.resolve() == truth.resolve():
        raise UsageError(f"{out}: --out and --truth are the same file; name two")
    drawn = draw_examinations(
        model,
        drawable(model, protocol, _names(signs), routine=signs == _ROUTINE),
        n,
        np.random.default_rng(seed),
        patient=Patient(age_years=age, sex=sex),
        context=Context(setting=setting, acuity=acuity, mechanism=mechanism),
        lesions=_slots(lesion or ()),
        name=f"simulated-{seed}",
    )
    with _lines_of(out) as write, _lines_of(truth) as write_truth:
        for each in drawn:
            write(write_examination(each.examination, one_line=True))
            if truth is not None:
                write_truth(json.dumps(_truth(each)) + "\n")


def _names(signs: str) -> list[str] | None:
    """Return the signs asked for by name, None for a whole set."""
    if signs in {_ROUTINE, _ALL}:
        return None
    named = [each.strip() for each in signs.split(",") if each.strip()]
    if not named:
        raise UsageError("--signs names no sign; write routine, all, or names from 'fabella protocol'")
    return named


def _truth(drawn: Drawn) -> dict[str, object]:
    """Return what no examiner knows of one examination."""
    knees = {
        side.value: {
            "lesions": [{"id": lesion, "level": level} for lesion, level in drawn.lesions[side]],
            "guarding": drawn.guarding[side],
        }
        for side in sorted(drawn.lesions, reverse=True)
    }
    return {"id": drawn.examination.id, "knees": knees}


def _slots(named: Sequence[str]) -> tuple[tuple[str, str], ...]:
    """Return (lesion, level or "") pairs; `InputError` lists every name that is none."""
    pairs = tuple((lesion, level) for lesion, _, level in (each.partition(":") for each in named))
    load_lesions().check(pairs, place="--lesion")
    return pairs


@contextmanager
def _lines_of(path: Path | None) -> Iterator[Callable[[str], object]]:
    """Give what writes a line of text to a file, without one to standard output."""
    if path is None:
        yield sys.stdout.write
        return
    with writing(path) as file:
        yield lambda line: file.write(line.encode())
