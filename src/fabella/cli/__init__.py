"""The command line: parse, call one function, print.

Each command is one module of this package with one public function of the same name,
registered below with ``app.command()(module.function)``.
"""

import os
import sys
from collections.abc import Sequence
from typing import Annotated

import typer

from fabella import __version__
from fabella.cli import check, evidence, protocol, schema
from fabella.errors import FabellaError, UsageError

app = typer.Typer(
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)


def _show_version(wanted: bool) -> None:
    if wanted:
        print(f"fabella {__version__}")
        raise typer.Exit


@app.callback()
def fabella(
    version: Annotated[
        bool,
        typer.Option("--version", callback=_show_version, is_eager=True, help="Show the version and exit."),
    ] = False,
) -> None:
    """Examination of both knees: findings in; probabilities, next steps and a letter out."""


app.command()(check.check)
app.command()(evidence.evidence)
app.command()(protocol.protocol)
app.command()(schema.schema)


def main(arguments: Sequence[str] | None = None) -> None:
    """Run one command and leave with its exit code: 0 done, 1 refused or failed, 2 wrongly asked.

    Parameters
    ----------
    arguments
        What follows ``fabella`` on the command line; None takes them from there.
    """
    try:
        app(args=arguments, prog_name="fabella")
    except UsageError as error:
        _leave(str(error), code=2)
    except FabellaError as error:
        _leave(str(error), code=1)
    except Exception as error:
        if os.environ.get("FABELLA_DEBUG") == "1":
            raise
        _leave(
            f"unexpected {type(error).__name__}: {' '.join(str(error).split())}\n"
            "This is a fault of Fabella. Please report it with the command and what FABELLA_DEBUG=1 shows.",
            code=1,
        )


def _leave(message: str, *, code: int) -> None:
    print(f"fabella: {message}" if "\n" not in message else f"fabella:\n{message}", file=sys.stderr)
    sys.exit(code)
