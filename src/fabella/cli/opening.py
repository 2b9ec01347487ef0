"""The data folder that a command works in: found, opened with its key, and occupied while it works."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import platformdirs
import typer

from fabella.cli.streams import UNREADABLE
from fabella.cli.whole_file import read_whole
from fabella.errors import FabellaError

if TYPE_CHECKING:
    from fabella.store.sealed import DataKey
    from fabella.web.options import Options

Data = Annotated[
    Path | None,
    typer.Option("--data", help="Folder of the databases; by default your own.", show_default=False),
]
KeyFile = Annotated[
    Path | None,
    typer.Option(
        "--key-file",
        envvar="FABELLA_KEY_FILE",
        help="File that opens encrypted databases; without it the passphrase is asked for.",
        show_default=False,
    ),
]
DatabaseUrl = Annotated[
    str | None,
    typer.Option(
        "--database-url",
        envvar="FABELLA_DATABASE_URL",
        help="Of a PostgreSQL database; four of that name with _clinic, _school, _exams, _accounts.",
        show_default=False,
    ),
]

PASSPHRASE = "Passphrase of the databases"  # noqa: S105  what is asked


def data_folder(*, demo: bool = False) -> Path:
    """Return the folder in which a user's data belongs on this system; the demo's lies beside it."""
    folder = platformdirs.user_data_path("fabella", appauthor=False)
    return folder.with_name("fabella-demo") if demo else folder


@contextmanager
def opened(
    data: Path, *, key_file: Path | None, database_url: str | None = None, **more: Any
) -> Iterator[Options]:
    """Start the framework on a data folder, with its key when it is encrypted, and occupy it meanwhile."""
    from fabella.store.occupied import occupied
    from fabella.web.options import Options, prepare_folder

    prepare_folder(data)
    with occupied(data):
        key = key_of(data, key_file) if database_url is None else None
        options = Options(data=data, database_url=database_url, key=key, **more)
        with configured(options):
            yield options


@contextmanager
def configured(options: Options) -> Iterator[None]:
    """Start the framework, and let its databases go afterwards."""
    from fabella.web.settings import configure

    configure(options)
    from fabella.store.preparing import let_go  # once it is configured

    try:
        yield
    finally:
        let_go()


def key_of(folder: Path, key_file: Path | None) -> DataKey | None:
    """Return the key of a folder's databases, None when they are not encrypted."""
    from fabella.store.sealed.files import engine, is_sealed
    from fabella.store.sealed.key import KEY_NAME, unlock_key

    if not is_sealed(folder):
        return None
    engine()
    return unlock_key(folder / KEY_NAME, secret(key_file))


def secret(key_file: Path | None, *, what: str = PASSPHRASE, twice: bool = False) -> bytes:
    """Return what opens the key: the content of a key file, or a passphrase that is asked for.

    Where standard input is no terminal, the passphrase is its next line.
    """
    if key_file is not None:
        return read_whole(key_file)
    if sys.stdin is not None and sys.stdin.isatty():
        return str(typer.prompt(what, hide_input=True, confirmation_prompt=twice)).encode()
    typed = secret_line()
    if not typed:
        raise FabellaError(
            "the databases are encrypted: name their key file with --key-file or FABELLA_KEY_FILE, "
            "or write the passphrase on standard input"
        )
    return typed.encode()


def secret_line() -> str:
    """Return the next line of standard input, empty when there is none; refuse one that is no text."""
    line = sys.stdin.readline().rstrip("\r\n") if sys.stdin is not None else ""
    if UNREADABLE in line:
        raise FabellaError("what stands on standard input is not UTF-8 text; write it in UTF-8")
    return line
