"""Which commands there are, and how each is loaded only when it is called.

A command is one module of this package with one public function of its name. Its first line and its
examples stand here, so that all commands can be listed without importing what they compute with.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from importlib import import_module
from types import MappingProxyType
from typing import Any

import typer
from typer.core import TyperCommand, TyperGroup
from typer.main import get_command

HELP_OPTIONS = {"help_option_names": ["-h", "--help"]}


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One command: the first line of its help, examples that work as they stand, and how it uses the machine.

    ``one_thread`` keeps matrix products on one core: for one patient they are too small to be worth sharing.
    """

    summary: str
    examples: tuple[str, ...]
    one_thread: bool = True


COMMANDS: Mapping[str, Entry] = MappingProxyType(
    {
        "conclude": Entry(
            summary="Conclude from examinations: what cannot wait, what is likely, and what to do next.",
            examples=(
                "fabella conclude examples/twist_at_handball.json",
                "fabella conclude examples/stiff_mornings.json --json --side left --top 3",
            ),
        ),
        "next": Entry(
            summary="Rank what to ask, examine or image next, with what each outcome would do.",
            examples=("fabella next examples/two_years_of_pain.json",),
        ),
        "simulate": Entry(
            summary="Draw examinations from the model of the knee, one a line, as simulated patients.",
            examples=(
                "fabella simulate --n 3 --setting emergency --acuity acute --age 25 --lesion acl_tear",
                "fabella simulate --n 2 --signs lachman,pivot_shift --truth truth.jsonl",
            ),
        ),
        "practice": Entry(
            summary="Examine a simulated patient in the terminal, against the clock, and be debriefed.",
            examples=(
                "fabella practice --seed 7 --setting emergency --minutes 8",
                "fabella practice --lesion medial_meniscus_tear:displaced --age 24 --seed 1",
            ),
        ),
        "follow": Entry(
            summary="Say what has truly changed between examinations of one patient.",
            examples=("fabella follow examples/follow/torn_ligament.jsonl",),
        ),
        "audit": Entry(
            summary="Hold examinations against what scans and operations showed later.",
            examples=(
                "fabella audit examples/audit/examinations.jsonl --confirmed examples/audit/confirmed.jsonl",
            ),
        ),
        "letter": Entry(
            summary="Write the letter about one examination, or the page for the patient.",
            examples=(
                "fabella letter examples/twist_at_handball.json",
                (
                    "fabella letter examples/follow/new_knee_4_one_year.json "
                    "--earlier examples/follow/new_knee_3_eight_weeks.json"
                ),
            ),
        ),
        "fhir": Entry(
            summary="Write a worked-up examination as a document of HL7 FHIR R4, for other programs.",
            examples=(
                "fabella fhir examples/slip_on_ice.json",
                "fabella fhir --codes",
            ),
        ),
        "read": Entry(
            summary="Read dictated findings; exit with 1 if anything must be asked or was not understood.",
            examples=(
                'fabella read "right knee moderate effusion, range 5 to 110, Lachman 2+; left knee normal"',
                'fabella read --examination "left knee small effusion, McMurray positive medially"',
            ),
        ),
        "gait": Entry(
            summary="Measure a walk from taps, a film's events, knee angles or markers, with errors.",
            examples=(
                "fabella gait examples/gait/taps.csv",
                "fabella gait examples/gait/film.csv --fps 30 --json",
                (
                    "fabella gait examples/gait/markers.c3d --name sacrum=SAC --name right_heel=HEEL_R "
                    "--name left_heel=HEEL_L"
                ),
            ),
        ),
        "measure": Entry(
            summary="Measure an angle from landmarks on a photograph or a radiograph, with its error.",
            examples=(
                "fabella measure examples/measure/bent_knee.png --points examples/measure/bent_knee.json",
                "fabella measure --view standing_front",
            ),
        ),
        "check": Entry(
            summary="Check examination files and list every problem; exit with 1 if there is any.",
            examples=("fabella check examples/twist_at_handball.json",),
        ),
        "protocol": Entry(
            summary="Show the examination in the order of the body, or everything about one sign.",
            examples=("fabella protocol lachman", "fabella protocol --routine"),
        ),
        "evidence": Entry(
            summary="Show what is published on a sign, which of rival numbers is used and why.",
            examples=("fabella evidence lachman",),
        ),
        "exam": Entry(
            summary=(
                "Analyse the marks of an exam, decide, report and give feedback; plan exams, make stations."
            ),
            examples=(
                "fabella exam analyse examples/exam/marks.csv --stations examples/exam/blueprint.json",
                (
                    "fabella exam compare examples/exam/marks.csv --stations examples/exam/stations "
                    "--rules examples/exam/rules.json"
                ),
                (
                    "fabella exam feedback examples/exam/marks.csv --stations examples/exam/stations "
                    "--out feedback"
                ),
                "fabella exam plan examples/exam/plan.json",
                "fabella exam station ligaments --minutes 8 --out ligaments.json",
            ),
        ),
        "validate": Entry(
            summary=(
                "Run the chain on published patients and compare it with their diagnoses, failures included."
            ),
            examples=("fabella validate", "fabella validate --collected"),
        ),
        "bench": Entry(
            summary="Measure speed and memory on this machine, as ratios in one run.",
            examples=("fabella bench workup --examinations 3",),
            one_thread=False,
        ),
        "serve": Entry(
            summary="Serve the pages until Ctrl-C, and print their address.",
            examples=("fabella serve --data clinic --check",),
        ),
        "account": Entry(
            summary="Open, close, link or list accounts, or give one another password.",
            examples=("fabella account list --data clinic",),
        ),
        "key": Entry(
            summary="Encrypt the databases as whole files, change what opens them, decrypt or check them.",
            examples=("fabella key check --data clinic",),
        ),
        "backup": Entry(
            summary="Back up the databases while the server runs, and check what was made.",
            examples=("fabella backup backups --data clinic --keep 30",),
        ),
        "restore": Entry(
            summary="Restore a backup into a new folder, after checking all of it.",
            examples=("fabella restore backups --data restored",),
        ),
        "drill": Entry(
            summary="Restore the newest backup for a while and try everything; exit with 1 if it fails.",
            examples=("fabella drill backups",),
        ),
        "certificate": Entry(
            summary="Show the authority that devices have to trust, with the SHA-256 to compare.",
            examples=("fabella certificate --data clinic --name knee.ward.test",),
        ),
        "schema": Entry(
            summary="Write the JSON Schema (draft 2020-12) of files that are read, or of answers in JSON.",
            examples=("fabella schema", "fabella schema --of conclusion"),
        ),
    }
)


class Commands(TyperGroup):
    """The group of all commands: a listed one is a mere line of help until it is called."""

    def __init__(self, **settings: Any) -> None:
        super().__init__(**settings)
        for name, entry in COMMANDS.items():
            self.add_command(TyperCommand(name, help=entry.summary))

    def resolve_command(self, ctx: Any, args: list[str]) -> tuple[Any, Any, list[str]]:
        """Return the command that was called, loaded, and its arguments."""
        name, command, rest = super().resolve_command(ctx, args)
        return name, load(name) if name is not None and name in COMMANDS else command, rest


def load(name: str) -> Any:
    """Import the module of a command and return the command."""
    entry = COMMANDS[name]
    if entry.one_thread:
        os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # read when numpy is imported
    app = typer.Typer(add_completion=False, pretty_exceptions_enable=False, context_settings=HELP_OPTIONS)
    examples = "\n\n".join(("Examples:" if entry.examples[1:] else "Example:", *entry.examples))
    app.command(name, epilog=examples)(getattr(import_module(f"fabella.cli.{name}"), name))
    command = get_command(app)
    for parameter in command.params:
        _part_choices(parameter)
    return command


def _part_choices(parameter: Any) -> None:
    """Let the choices of a parameter stand as a list in the help: a line breaks between two of them."""
    told = parameter.display_type
    parameter.display_type = lambda ctx: told(ctx).replace("|", ", ")
