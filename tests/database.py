"""Databases for tests: real ones, fresh for each test, copied from ones whose tables were made once."""

from __future__ import annotations

import atexit
import os
import shutil
import socket
import subprocess
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from tempfile import mkdtemp

from django.contrib.auth.hashers import Argon2PasswordHasher
from django.db import connections

from fabella.store.databases import Settings, databases
from fabella.store.preparing import point_at, prepare_databases
from fabella.store.router import NAMES
from fabella.store.sealed.changing import encrypt
from fabella.store.sealed.key import KEY_NAME, DataKey, unlock_key
from fabella.web.options import Options
from fabella.web.settings import configure
from tests.reference import need_reference

_FOLDER = Path(mkdtemp(prefix="fabella-tests-"))
_DATA, _MADE, _SEALED = _FOLDER / "data", _FOLDER / "made", _FOLDER / "sealed"

SECRET = b"nine brown otters dive"
"""What opens the encrypted databases of the tests."""

# Before any model is imported, and so at the import of this module, which every conftest does that needs it.
configure(Options(data=_DATA))

# To hash a password is slow on purpose; how slow, the framework decides, and no test depends on it. Servers
# that tests start in processes of their own hash as slowly as ever.
Argon2PasswordHasher.time_cost, Argon2PasswordHasher.memory_cost, Argon2PasswordHasher.parallelism = 1, 8, 1


@cache
def _make_files() -> None:
    """Make the tables in files, once, and put these aside."""
    prepare_databases()
    connections.close_all()
    shutil.copytree(_DATA, _MADE)


@atexit.register
def _remove_folder() -> None:
    connections.close_all()
    shutil.rmtree(_FOLDER, ignore_errors=True)


@contextmanager
def fresh_sqlite(made: Path | None = None) -> Iterator[Path]:
    """Give a test databases in files of a data folder, empty ones unless others were made before."""
    configure(Options(data=_DATA))
    _make_files()
    connections.close_all()
    shutil.rmtree(_DATA)
    shutil.copytree(made or _MADE, _DATA)
    forget()
    yield _DATA
    connections.close_all()


def keep_files(folder: Path) -> None:
    """Put the present files aside, for other tests to begin with."""
    connections.close_all()
    shutil.copytree(_DATA, folder)


@contextmanager
def fresh_postgresql(cluster: Cluster) -> Iterator[None]:
    """Give a test empty databases on a PostgreSQL server."""
    cluster.make_databases()
    cluster.empty()
    with using(databases(Path(), cluster.url("test"))):
        forget()
        yield


@contextmanager
def fresh_sealed() -> Iterator[Path]:
    """Give a test empty databases in encrypted files."""
    with fresh_sqlite() as folder:
        connections.close_all()
        key = _make_sealed()
        shutil.rmtree(folder)
        shutil.copytree(_SEALED, folder)
        with using(databases(folder, key=key)):
            yield folder


@cache
def _make_sealed() -> DataKey:
    """Encrypt the files whose tables were made once, and return their key, which takes long to unlock."""
    shutil.copytree(_MADE, _SEALED)
    encrypt(_SEALED, SECRET)
    return unlock_key(_SEALED / KEY_NAME, SECRET)


@contextmanager
def using(entries: Settings) -> Iterator[None]:
    """Let every alias mean another database for a while."""
    point_at(entries)
    try:
        yield
    finally:
        point_at(databases(_DATA))


def forget() -> None:
    """Forget what the program remembers between requests."""
    from fabella.store.clinic.sheets import forget_sheets  # noqa: PLC0415  after the framework's start
    from fabella.store.clinic.trail import forget_sittings  # noqa: PLC0415  the same
    from fabella.store.exams.sheets import forget_sheets as forget_mark_sheets  # noqa: PLC0415  the same
    from fabella.store.school.practising import forget_runs  # noqa: PLC0415  the same
    from fabella.web.analysing.freezing import forget_frozen  # noqa: PLC0415  the same
    from fabella.web.attempts import attempts, code_attempts, exam_code_attempts  # noqa: PLC0415  the same

    attempts.forget()
    code_attempts.forget()
    exam_code_attempts.forget()
    forget_frozen()
    forget_runs()
    forget_sheets()
    forget_sittings()
    forget_mark_sheets()


# ------------------------------------------------------------------ a PostgreSQL server of our own


@dataclass(frozen=True)
class Cluster:
    """A PostgreSQL server that only these tests use."""

    port: int

    def url(self, name: str) -> str:
        """Return the URL under which the product reaches the databases of a name."""
        return f"postgresql:{'//'}tester@127.0.0.1:{self.port}/{name}"

    def run(self, name: str, *statements: str) -> None:
        """Run statements on a database as the owner of the server."""
        import psycopg  # noqa: PLC0415  only where there is a server

        with psycopg.connect(self.url(name), autocommit=True) as connection:
            for statement in statements:
                connection.execute(statement.encode())

    @cache  # noqa: B019  there is one cluster
    def make_databases(self) -> None:
        """Make the databases and their tables."""
        self.run("postgres", *(f"CREATE DATABASE test_{name}" for name in NAMES.values()))
        with using(databases(Path(), self.url("test"))):
            prepare_databases()

    def empty(self) -> None:
        """Empty every table, past the triggers that forbid it."""
        for name in NAMES.values():
            self.run(f"test_{name}", _EMPTY)


# As a replica would be filled: without triggers. What the framework knows of migrations stays.
_EMPTY = """
DO $$ DECLARE each text; BEGIN
    SET LOCAL session_replication_role = replica;
    FOR each IN SELECT tablename FROM pg_tables
            WHERE schemaname = 'public' AND tablename NOT LIKE 'django_%' LOOP
        EXECUTE 'DELETE FROM ' || quote_ident(each);
    END LOOP;
    FOR each IN SELECT sequencename FROM pg_sequences
            WHERE last_value IS NOT NULL AND sequencename NOT LIKE 'django_%' LOOP
        EXECUTE 'ALTER SEQUENCE ' || quote_ident(each) || ' RESTART';
    END LOOP;
END $$
"""


@cache
def cluster() -> Cluster:
    """Return the server of this run, started when first asked for and ended with the run."""
    stack = ExitStack()
    atexit.register(stack.close)
    return stack.enter_context(_cluster())


@contextmanager
def _cluster() -> Iterator[Cluster]:
    """Start a server in a folder of its own, as nobody of importance, and end it."""
    programs = programs_folder()
    need_reference("PostgreSQL", available=programs is not None, how_to_install="sh tools/system_packages.sh")
    user = "postgres" if os.geteuid() == 0 else None  # the server refuses to run as root
    folder = Path(mkdtemp(prefix="fabella-postgresql-"))
    if user:
        shutil.chown(folder, user)

    def call(program: str, *arguments: str) -> None:
        command = [str(Path(str(programs)) / program), *arguments]
        subprocess.run(command, check=True, capture_output=True, user=user, cwd=folder, timeout=60)

    data, port = str(folder / "data"), free_port()
    call("initdb", "-D", data, "-U", "tester", "--auth=trust", "--no-sync", "-E", "UTF8", "--locale=C.UTF-8")
    quick = f"-p {port} -k {folder} -c listen_addresses=127.0.0.1 -c fsync=off"
    call("pg_ctl", "-D", data, "-w", "-l", str(folder / "log"), "-o", quick, "start")
    try:
        yield Cluster(port)
    finally:
        connections.close_all()
        call("pg_ctl", "-D", data, "-m", "immediate", "stop")
        shutil.rmtree(folder, ignore_errors=True)


def programs_folder() -> Path | None:
    """Return the folder of the server's programs, or None when they are not installed."""
    on_path = shutil.which("initdb")
    if on_path:
        return Path(on_path).resolve().parent
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    return found[-1].parent if found else None


def free_port() -> int:
    """Return a port that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])
