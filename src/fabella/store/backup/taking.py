"""Taking a backup: into a folder of its own that gets its name only when all of it is there and checked."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

from fabella.errors import FabellaError, UsageError
from fabella.store.backup.contents import refuse_lost, without_tables
from fabella.store.backup.from_files import copy_files, look_into
from fabella.store.backup.manifest import MANIFEST_NAME, Manifest, make_manifest, read_manifest
from fabella.store.private import PRIVATE_FILE, PRIVATE_FOLDER, make_private_folder, settle
from fabella.store.sealed import DataKey
from fabella.store.sealed.key import KEY_NAME

_NAME = re.compile(r"\d{4}-\d\d-\d\dT\d\d-\d\d-\d\dZ")
_MAKING = ".making-"
_LONGEST = timedelta(days=1)  # that a backup can take


def back_up_files(
    data: Path, to: Path, *, key: DataKey | None, now: datetime, keep: int | None = None
) -> tuple[Path, Manifest]:
    """Back up the databases of a data folder, and return where, with what the backup says of itself.

    Parameters
    ----------
    to
        The folder of all backups; made when it is missing, refused inside the data folder.
    key
        Of encrypted databases; the backup is then encrypted likewise and holds the locked key.
    keep
        How many backups stay, the newest first; None keeps all.
    """
    if to.resolve().is_relative_to(data.resolve()):
        raise UsageError(f"{to}: a backup inside the data folder is lost with it; name another place")
    with making(to, now) as folder:
        copy_files(data, key, folder)
        if key is not None:
            shutil.copyfile(data / KEY_NAME, folder / KEY_NAME)
            (folder / KEY_NAME).chmod(PRIVATE_FILE)
            settle(folder / KEY_NAME)
        held, lines, head, wrong = look_into(folder, key)
        if wrong:
            raise FabellaError("; ".join(wrong))
        refuse_lost({name: str(data / f"{name}.sqlite3") for name in held}, without_tables(held))
        manifest = make_manifest(
            folder,
            made_at=now,
            kind="files",
            is_encrypted=key is not None,
            databases=held,
            trail=(lines, head),
        )
    forget_old(to, keep, made=to / name_of(now))
    return to / name_of(now), manifest


def name_of(now: datetime) -> str:
    """Return what a backup of a moment is called; names sort as moments do."""
    return f"{now.astimezone(UTC):%Y-%m-%dT%H-%M-%SZ}"


def backups_in(folder: Path) -> tuple[Path, ...]:
    """Return the finished backups in a folder, the newest first."""
    found = (path for path in folder.iterdir() if _NAME.fullmatch(path.name))
    return tuple(sorted((path for path in found if (path / MANIFEST_NAME).exists()), reverse=True))


def backup_at(place: Path) -> Path:
    """Return a backup itself, or the newest in a folder of them; raise `FabellaError` when there is none."""
    if not place.is_dir():
        raise FabellaError(f"{place}: there is no such folder")
    if (place / MANIFEST_NAME).exists() or _NAME.fullmatch(place.name):
        return place
    found = backups_in(place)
    if not found:
        raise FabellaError(f"{place}: holds no finished backup")
    return found[0]


@contextmanager
def making(to: Path, now: datetime) -> Iterator[Path]:
    """Give a folder to fill, which is called a backup when it is full and is gone when filling it failed."""
    make_private_folder(to)
    for left in to.glob(f"{_MAKING}*"):
        if left.name < f"{_MAKING}{name_of(now - _LONGEST)}":  # of one that was killed
            shutil.rmtree(left)
    made = to / name_of(now)
    folder = to / f"{_MAKING}{made.name}"
    if made.exists() or folder.exists():
        raise FabellaError(f"{made}: is there already, and is not overwritten")
    folder.mkdir(PRIVATE_FOLDER)
    try:
        yield folder
        settle(folder)
        folder.rename(made)
        settle(to)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def forget_old(to: Path, keep: int | None, *, made: Path) -> None:
    """Remove all backups but so many, the newest; None keeps all.

    The one just ``made`` stays, even if the clock was set back. So does the one whose trail is longest: a
    trail only grows, so when those that are kept are all shorter, they are of a clinic that lost patients.
    """
    if keep is None:
        return
    found = backups_in(to)
    fullest = max(found, key=_trail_lines)  # of several the newest
    for old in found[max(keep, 1) :]:
        if old not in {made, fullest}:
            shutil.rmtree(old)


def _trail_lines(backup: Path) -> int:
    try:
        return read_manifest(backup).trail_lines
    except FabellaError:  # a damaged one, from which nothing is restored
        return -1
