"""Whatever is typed into a form, or carried by it, is never answered as a fault of ours."""

from __future__ import annotations

from collections.abc import Iterator
from html.parser import HTMLParser

import pytest
from django.test import Client

PAGES = (
    "/patients/1/", "/patients/1/course/", "/patients/several/", "/visits/11/", "/visits/11/sign/",
    "/teach/classes/", "/teach/patients/new/", "/teach/sets/1/open/", "/exams/1/rules/",
    "/exams/1/rules/judges/", "/exams/1/typed/look_and_gait/C01/Quill/",
    "/exams/1/watch/look_and_gait/C01/Quill/", "/exams/2/day/", "/exams/2/people/",
    "/exams/2/stations/", "/exams/2/stations/1/", "/exams/2/timetable/",
)  # fmt: skip
ODD = ("²", "9" * 5000, "nan", "0001-01-01")


class _Forms(HTMLParser):
    """Every form of a page: how and where it is sent, and its fields."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.found: list[tuple[str, str, dict[str, str]]] = []
        self._page = page

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = {name: value or "" for name, value in attrs}
        if tag == "form":
            self.found.append((told.get("method", "get"), told.get("action") or self._page, {}))
        elif self.found and told.get("name") and told.get("type") != "file":
            self.found[-1][2].setdefault(told["name"], told.get("value", ""))


def sendings(client: Client, page: str) -> Iterator[tuple[str, str, dict[str, str]]]:
    """Each form of a page once for each of its fields, with something odd in that one."""
    forms = _Forms(page)
    forms.feed(client.get(page).content.decode())
    for method, to, fields in forms.found:
        for name in fields:
            yield from ((method, to, {**fields, name: odd}) for odd in ODD)


@pytest.mark.parametrize("page", PAGES)
def test_nothing_that_is_typed_is_a_fault_of_ours(demo: Client, page: str) -> None:
    """Digits that are none, numbers without end and days before all counting are refused or not minded."""
    sent = 0
    for method, to, fields in sendings(demo, page):
        answer = demo.post(to, fields) if method == "post" else demo.get(to, fields)
        assert answer.status_code < 500, (to, fields)
        sent += 1
    assert sent


def test_a_dictation_without_end_is_refused(demo: Client) -> None:
    """Brackets in brackets are no text."""
    answer = demo.post("/api/dictation", "[" * 100_000, content_type="application/json")
    assert answer.status_code == 400


@pytest.mark.parametrize(
    "address",
    [
        "/days/0001-01-01/", "/days/9999-12-31/", f"/visits/{'9' * 5000}/letter-not-signed.pdf",
        f"/visits/1/signed/{'9' * 5000}/letter.pdf", f"/visits/{'9' * 5000}/",
        f"/visits/1/signed/{'9' * 20}/",
    ],
)  # fmt: skip
def test_an_address_beyond_all_counting_leads_nowhere(demo: Client, address: str) -> None:
    """Days before all counting, and numbers without end, are no fault of ours."""
    assert demo.get(address).status_code in {200, 404}
