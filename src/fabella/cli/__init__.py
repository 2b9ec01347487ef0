"""The command line: parse, call one function, print.

Each command is one module of this package with one public function of the same name, listed in
`fabella.cli.commands` and imported when it is called.
"""

import os
import sys
from collections.abc import Sequence
from typing import Annotated

import typer

from fabella import __version__
from fabella.cli.commands import HELP_OPTIONS, Commands
from fabella.cli.streams import finish, prepare
from fabella.errors import FabellaError, UsageError

app = typer.Typer(
    cls=Commands,
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    context_settings=HELP_OPTIONS,
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


def main(arguments: Sequence[str] | None = None) -> None:
    """Run one command and leave with its exit code: 0 done, 1 refused or failed, 2 wrongly asked.

    Parameters
    ----------
    arguments
        What follows ``fabella`` on the command line; None takes them from there.
    """
    prepare()
    try:
        app(args=arguments, prog_name="fabella")
    except UsageError as error:
        _leave(str(error), code=2)
    except FabellaError as error:
        _leave(str(error), code=1)
    except OSError as error:
        _leave(f"cannot read or write {error.filename or 'the output'}: {error.strerror or error}", code=1)
    except Exception as error:
        if os.environ.get("FABELLA_DEBUG") == "1":
            raise
        _leave(
            f"unexpected {type(error).__name__}: {' '.join(str(error).split())}\n"
            "This is a fault of Fabella. Please report it with the command and what FABELLA_DEBUG=1 shows.",
            code=1,
        )
    finally:
        finish()


def _leave(message: str, *, code: int) -> None:
    print(f"fabella: {message}" if "\n" not in message else f"fabella:\n{message}", file=sys.stderr)
    sys.exit(code)
