"""``fabella key``: whether the databases are encrypted as whole files, and what opens them."""

from __future__ import annotations

import secrets
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from fabella.cli.opening import Data, KeyFile, configured, data_folder, key_of, secret
from fabella.errors import InputError, UsageError


class Deed(StrEnum):
    """What is done about the encryption."""

    CHECK = "check"
    ENCRYPT = "encrypt"
    CHANGE = "change"
    DECRYPT = "decrypt"


def key(
    deed: Annotated[Deed, typer.Argument(help="What to do.", show_default=False)],
    key_file: KeyFile = None,
    new_key_file: Annotated[
        Path | None,
        typer.Option("--new-key-file", help="With change: what opens them from now on.", show_default=False),
    ] = None,
    data: Data = None,
) -> None:
    """Encrypt the databases as whole files, change what opens them, decrypt or check them.

    The passphrase is asked for, or read from standard input when that is no terminal, a line each. A key file
    that is not there yet is made.
    """
    folder = data or data_folder()
    if new_key_file and deed is not Deed.CHANGE:
        raise UsageError("--new-key-file belongs to change")
    match deed:
        case Deed.CHECK:
            _check(folder, key_file)
        case Deed.ENCRYPT:
            _encrypt(folder, key_file)
        case Deed.CHANGE:
            _change(folder, key_file, new_key_file)
        case Deed.DECRYPT:
            _decrypt(folder, key_file)


def _check(folder: Path, key_file: Path | None) -> None:
    from fabella.store.sealed.files import State, files_in, state_of

    if key_of(folder, key_file) is not None:
        print(f"The databases in {folder} are encrypted, and this opens them.")
    elif any(state_of(path) is State.PLAIN for path in files_in(folder)):
        print(f"The databases in {folder} are not encrypted.")
    else:
        print(f"There are no databases in {folder}.")


def _encrypt(folder: Path, key_file: Path | None) -> None:
    from fabella.store.occupied import occupied
    from fabella.store.preparing import prepare_databases
    from fabella.store.sealed.changing import encrypt
    from fabella.store.sealed.files import State, engine, files_in, state_of
    from fabella.store.sealed.key import KEY_NAME
    from fabella.web.options import Options, prepare_folder

    engine()
    prepare_folder(folder)
    with occupied(folder, alone=True):
        begun = (folder / KEY_NAME).exists()
        states = {state_of(path) for path in files_in(folder)}
        if begun and State.PLAIN not in states:
            raise UsageError(f"{folder}: is encrypted already")
        if not begun and State.SEALED not in states:
            with configured(Options(data=folder)):
                prepare_databases()
        encrypt(folder, secret(key_file) if begun else _new_secret(folder, key_file))
    print(
        f"The databases in {folder} are encrypted. Without the passphrase or key file nobody can read them:"
    )
    print("keep a copy of it apart from this machine and from the backups.")


def _change(folder: Path, key_file: Path | None, new_key_file: Path | None) -> None:
    from fabella.store.sealed.changing import change_secret

    _must_be_sealed(folder)
    old = secret(key_file)
    change_secret(folder, old, _new_secret(folder, new_key_file, what="New passphrase"))
    print("The databases are opened by the new one from now on; earlier backups by the one of their time.")


def _decrypt(folder: Path, key_file: Path | None) -> None:
    from fabella.store.occupied import occupied
    from fabella.store.sealed.changing import decrypt

    _must_be_sealed(folder)
    with occupied(folder, alone=True):
        decrypt(folder, secret(key_file))
    print(f"The databases in {folder} are not encrypted any more.")


def _must_be_sealed(folder: Path) -> None:
    from fabella.store.sealed.key import KEY_NAME

    if not (folder / KEY_NAME).exists():
        raise UsageError(f"{folder}: holds no encrypted databases")


def _new_secret(folder: Path, key_file: Path | None, *, what: str = "Passphrase to be") -> bytes:
    """Return what is to open the databases, fit for it; a key file that is missing is made."""
    from fabella.store.private import write_private
    from fabella.store.sealed.key import SHORTEST_KEY_FILE, SHORTEST_PASSPHRASE

    if key_file is not None:
        if key_file.resolve().is_relative_to(folder.resolve()):
            raise UsageError(f"{key_file}: a key beside what it opens protects nothing; keep it elsewhere")
        if not key_file.exists():
            write_private(key_file, secrets.token_urlsafe(48).encode())
        least, unit = SHORTEST_KEY_FILE, "bytes"
    else:
        least, unit = SHORTEST_PASSPHRASE, "characters"
    typed = secret(key_file, what=what, twice=True)
    if len(typed if key_file else typed.decode()) < least:
        place = str(key_file or "passphrase")
        raise InputError.of(place=place, says="is too short", remedy=f"take at least {least} {unit}")
    return typed
