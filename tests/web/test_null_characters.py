"""A null character, which one kind of database cannot keep, is refused before anything is kept."""

from __future__ import annotations

from collections.abc import Iterator
from html import unescape

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from tests.database import cluster, fresh_postgresql, fresh_sqlite

TABLES = {
    "/exams/2/people/": "candidates_file",
    "/exams/1/rules/judges/": "file",
    "/patients/several/": "list_file",
}


@pytest.fixture(params=["sqlite", "postgresql"])
def browser(request: pytest.FixtureRequest) -> Iterator[Client]:
    """A browser at this machine, on empty databases of one kind."""
    with fresh_sqlite():
        if request.param == "sqlite":
            yield Client(SERVER_NAME="localhost")
            return
        with fresh_postgresql(cluster()):
            yield Client(SERVER_NAME="localhost")


@pytest.mark.parametrize(
    ("to", "field"), [("/teach/", "name"), ("/login/", "name"), ("/patients/new/", "label")]
)
def test_it_is_refused_in_a_form_by_its_field(browser: Client, to: str, field: str) -> None:
    """The answer names the field and says what to do."""
    answer = browser.post(to, {field: "a\0b", "password": "nine brown otters"})
    assert answer.status_code == 400
    assert f"{field}: holds a null character; leave it out" in unescape(answer.content.decode())


def test_it_is_refused_in_an_address(browser: Client) -> None:
    """What is looked for by the address is not found, or refused."""
    assert browser.get("/patients/?q=a%00b").status_code == 400
    assert browser.get("/days/%00/").status_code == 404


@pytest.mark.parametrize("to", TABLES)
def test_it_is_refused_in_a_table(demo: Client, to: str) -> None:
    """A file that is no text by half, as one saved in another encoding, is refused with its line."""
    sent = SimpleUploadedFile("table.csv", "candidate\nOne\nTwo\n".encode("utf-16-le"))
    answer = demo.post(to, {TABLES[to]: sent, "step": "table"})
    assert answer.status_code == 400
    assert "line 1: holds a null character; save it as CSV in UTF-8" in unescape(answer.content.decode())
