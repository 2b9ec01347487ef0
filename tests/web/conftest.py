"""Tests of the pages: in this process, through the framework's own client, on databases in files."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.test import Client

from fabella.store.databases import databases
from fabella.web import elsewhere
from fabella.web.elsewhere import compute_elsewhere
from fabella.web.workers import Workers
from tests.database import cluster, fresh_sqlite, keep_files, using
from tests.made_once import made_once
from tests.web.clinic import add, begin, bring
from tests.web.hands import data_of


@pytest.fixture
def client() -> Iterator[Client]:
    """A browser at this machine, with nobody in the clinic yet."""
    with fresh_sqlite():
        yield Client(SERVER_NAME="localhost")


@pytest.fixture
def visit(client: Client) -> str:
    """The address of a visit with a whole examination in it, and something that cannot wait."""
    made = begin(client, add(client))
    assert bring(client, made).status_code == 302
    return made


@pytest.fixture
def own_databases() -> Iterator[None]:
    """The commands point this process at other databases; afterwards it points at its own again."""
    with fresh_sqlite():
        yield
    with fresh_sqlite():
        pass


@pytest.fixture
def workers() -> Iterator[Workers]:
    """One other process that concludes."""
    made = Workers(1)
    compute_elsewhere(made)
    yield made
    elsewhere._workers.clear()
    elsewhere._forget()
    made.end()


@pytest.fixture(scope="session")
def demo_files(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The files of the invented clinic, made once."""
    return made_once(tmp_path_factory, "invented", _fill)


def _fill(folder: Path) -> None:
    from fabella.web.demo.clinic import fill_when_empty  # noqa: PLC0415  on databases that are there

    with fresh_sqlite():
        fill_when_empty()
        keep_files(folder)


@pytest.fixture
def demo(demo_files: Path) -> Iterator[Client]:
    """A browser at this machine, in the invented clinic."""
    with fresh_sqlite(demo_files):
        yield Client(SERVER_NAME="localhost")


@pytest.fixture
def clinic(demo_files: Path, tmp_path: Path) -> Path:
    """The files of the invented clinic in a folder of one's own: to open them is to write beside them."""
    return Path(shutil.copytree(demo_files, tmp_path / "clinic"))


@pytest.fixture(params=["sqlite", "postgresql"])
def place(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[tuple[str, ...]]:
    """The options of a server with empty databases, which this process can read as well."""
    if request.param == "sqlite":
        with using(databases(tmp_path)):
            yield data_of(tmp_path)
        return
    served = cluster()
    served.make_databases()
    served.empty()
    url = served.url("test")
    with using(databases(tmp_path, url)):
        yield (*data_of(tmp_path), "--database-url", url)
