"""Tests of the pages: in this process, through the framework's own client, on databases in files."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from django.test import Client

from tests.database import fresh_sqlite, keep_files


@pytest.fixture
def client() -> Iterator[Client]:
    """A browser at this machine, with nobody in the clinic yet."""
    with fresh_sqlite():
        yield Client(SERVER_NAME="localhost")


@pytest.fixture(scope="session")
def demo_files() -> Path:
    """The files of the invented clinic, made once."""
    from fabella.web.demo.clinic import fill_when_empty  # noqa: PLC0415  on databases that are there

    with fresh_sqlite():
        fill_when_empty()
        return keep_files("demo")


@pytest.fixture
def demo(demo_files: Path) -> Iterator[Client]:
    """A browser at this machine, in the invented clinic."""
    with fresh_sqlite(demo_files):
        yield Client(SERVER_NAME="localhost")
