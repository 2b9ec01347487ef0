"""Every test of the store runs on every kind of database."""

from collections.abc import Iterator

import pytest

from tests.database import Cluster, cluster, fresh_postgresql, fresh_sealed, fresh_sqlite


@pytest.fixture
def postgresql() -> Cluster:
    """A PostgreSQL server that this run started."""
    return cluster()


@pytest.fixture(params=["sqlite", "sealed", "postgresql"])
def database(request: pytest.FixtureRequest) -> Iterator[str]:
    """Empty databases of one kind: files, encrypted files, a server."""
    if request.param == "sqlite":
        with fresh_sqlite():
            yield "sqlite"
    elif request.param == "sealed":
        with fresh_sealed():
            yield "sealed"
    else:
        with fresh_postgresql(request.getfixturevalue("postgresql")):
            yield "postgresql"


@pytest.fixture
def files() -> Iterator[None]:
    """Empty databases in files, for what does not depend on their kind."""
    with fresh_sqlite():
        yield
