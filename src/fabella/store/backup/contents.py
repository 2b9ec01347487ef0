"""What a database holds, asked in the same words of files and of a server."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from fabella.errors import FabellaError
from fabella.store.backup.manifest import Database
from fabella.store.lost import NO_TABLES, Lost, lost

Ask = Callable[[str], list[tuple[Any, ...]]]

_TABLES = {
    "files": "SELECT name FROM main.sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'",
    "postgresql": "SELECT tablename FROM pg_tables WHERE schemaname = 'public'",
}


def held_by(ask: Ask, kind: str) -> Database:
    """Return what a database of a kind holds."""
    tables = sorted(name for (name,) in ask(_TABLES[kind]))
    rows = {name: int(ask(f'SELECT count(*) FROM "{name}"')[0][0]) for name in tables}  # noqa: S608
    applied = ask("SELECT app, name FROM django_migrations") if "django_migrations" in tables else []
    return Database(migrations=tuple(sorted(f"{app}.{name}" for app, name in applied)), rows=rows)


def end_of_trail(ask: Ask, tables: Iterable[str]) -> tuple[int, str]:
    """Return number and hash of the last line of the trail; nothing and empty when there is none."""
    if "clinic_trace" not in tables:
        return 0, ""
    last = ask("SELECT number, digest FROM clinic_trace ORDER BY number DESC LIMIT 1")
    return (int(last[0][0]), str(last[0][1])) if last else (0, "")


def refuse_lost(places: Mapping[str, str], gone: Mapping[str, str]) -> None:
    """Raise `FabellaError` when databases are gone: by name, where each belongs, and why some are gone."""
    if gone and len(gone) == len(places):
        told = "; ".join(f"{places[name]} {why}" for name, why in gone.items())
        raise FabellaError(f"there is no clinic to back up: {told}")
    if gone:
        raise lost([Lost(name=name, place=places[name], why=why) for name, why in gone.items()])


def without_tables(held: Mapping[str, Database]) -> dict[str, str]:
    """Return the databases that hold no tables of ours, each with the words that say so."""
    return {name: NO_TABLES for name, each in held.items() if not each.migrations}
