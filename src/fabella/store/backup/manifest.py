"""What a backup says of itself, so that what is missing or altered is told before it is restored."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

import fabella
from fabella.errors import FabellaError, Problem, Problems
from fabella.store.private import write_private

MANIFEST_NAME = "manifest.json"
FORMAT = "fabella.backup/1"
_CHUNK = 1 << 20


@dataclass(frozen=True, slots=True, kw_only=True)
class File:
    """One file of a backup: its length in bytes and its hash."""

    bytes: int
    sha256: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Database:
    """What one database held: the state of its tables, and how many rows each had."""

    migrations: tuple[str, ...]
    rows: Mapping[str, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Manifest:
    """Everything that a backup says of itself.

    ``kind`` is ``files`` or ``postgresql``; ``program`` the version that made it. ``trail_lines`` and
    ``trail_head`` are the number and the hash of the last line of the trail.
    """

    program: str
    made_at: datetime
    kind: str
    is_encrypted: bool
    files: Mapping[str, File]
    databases: Mapping[str, Database]
    trail_lines: int
    trail_head: str


def file_of(path: Path) -> File:
    """Return length and hash of a file."""
    digest, length = hashlib.sha256(), 0
    with path.open("rb") as file:
        while chunk := file.read(_CHUNK):
            digest.update(chunk)
            length += len(chunk)
    return File(bytes=length, sha256=digest.hexdigest())


def make_manifest(
    folder: Path,
    *,
    made_at: datetime,
    kind: str,
    is_encrypted: bool,
    databases: Mapping[str, Database],
    trail: tuple[int, str],
) -> Manifest:
    """Write what the files of a folder are and hold, and return it; ``trail``: number and hash of its end."""
    manifest = Manifest(
        program=fabella.__version__,
        made_at=made_at,
        kind=kind,
        is_encrypted=is_encrypted,
        files={path.name: file_of(path) for path in sorted(folder.iterdir())},
        databases=databases,
        trail_lines=trail[0],
        trail_head=trail[1],
    )
    write_manifest(folder, manifest)
    return manifest


def write_manifest(folder: Path, manifest: Manifest) -> None:
    """Write a manifest, closed by a hash over itself."""
    tree: dict[str, Any] = {"format": FORMAT, **asdict(manifest), "made_at": manifest.made_at.isoformat()}
    tree["sha256"] = _digest(tree)
    write_private(folder / MANIFEST_NAME, (json.dumps(tree, indent=2, sort_keys=True) + "\n").encode())


def read_manifest(folder: Path) -> Manifest:
    """Return the manifest of a backup; raise `FabellaError` when it is none, or not as it was written."""
    path = folder / MANIFEST_NAME
    try:
        tree = json.loads(path.read_bytes())
        told = tree.pop("sha256")
        if tree.pop("format") != FORMAT or told != _digest({"format": FORMAT, **tree}):
            raise FabellaError(f"{path}: is not as it was written")
        files = {name: File(**each) for name, each in tree.pop("files").items()}
        if any(Path(name).name != name for name in files):  # it would be copied to somewhere else
            raise FabellaError(f"{path}: names a file outside of the backup")
        databases = {
            name: Database(
                migrations=tuple(map(str, each["migrations"])),
                rows={table: int(count) for table, count in each["rows"].items()},
            )
            for name, each in tree.pop("databases").items()
        }
        made_at = datetime.fromisoformat(tree.pop("made_at"))
        return Manifest(**tree, files=files, databases=databases, made_at=made_at)
    except FileNotFoundError:
        raise FabellaError(
            f"{folder}: is no backup, or none that was finished: {MANIFEST_NAME} is missing"
        ) from None
    except (ValueError, KeyError, TypeError, AttributeError, OverflowError, RecursionError):
        raise FabellaError(f"{path}: is not as it was written") from None


def check_files(folder: Path, manifest: Manifest) -> None:
    """Raise `InputError` with every file of a backup that is missing, cut off or altered."""
    Problems(_file_problems(folder, manifest)).raise_any()


def _file_problems(folder: Path, manifest: Manifest) -> Iterator[Problem]:
    remedy = "take another backup"
    for name, told in manifest.files.items():
        path = folder / name
        if not path.is_file():
            yield Problem(place=str(path), says="is missing", remedy=remedy)
            continue
        found = file_of(path)
        if found.bytes != told.bytes:
            says = f"has {found.bytes} bytes, and had {told.bytes} when it was made"
            yield Problem(place=str(path), says=says, remedy=remedy)
        elif found.sha256 != told.sha256:
            yield Problem(place=str(path), says="is not as it was made: its hash differs", remedy=remedy)


def _digest(tree: Mapping[str, Any]) -> str:
    return hashlib.sha256(json.dumps(tree, sort_keys=True, separators=(",", ":")).encode()).hexdigest()
