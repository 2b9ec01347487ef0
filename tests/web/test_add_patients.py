"""A clinic list brought in on the pages: told beforehand, kept by one press, and nothing half."""

from __future__ import annotations

import re
from dataclasses import replace
from html import unescape
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from fabella.store import Role
from fabella.web import visitor
from tests.web.clinic import add, text_of

HERE = "/patients/several/"
LIST = (
    "number,name,birth date,sex\n"
    "K-1,Ida Invented,1990-03-01,female\n"
    "K-2,Bo Madeup,1958-11-20,m\n"
    "K-3,Cy Nobody,,\n"
)


def problems_of(answer: Any) -> list[str]:
    """Everything that the page says is wrong."""
    assert answer.status_code == 400
    page = answer.content.decode()
    told = re.findall(r"<li>(line .*?|list: .*?)</li>", page)
    return [*map(unescape, told), *map(unescape, re.findall(r'class="says"[^>]*>(.*?)</p>', page))]


def kept_text(answer: Any) -> str:
    """What stands in the field of the list."""
    (found,) = re.findall(r'<textarea id="list"[^>]*>(.*?)</textarea>', answer.content.decode(), re.DOTALL)
    return unescape(found)


def test_it_is_told_first_and_then_kept_by_one_press(client: Client) -> None:
    """The page says how many are new and how many are there; a press adds them, a second adds nobody."""
    add(client)
    assert HERE in client.get("/patients/new/").content.decode()
    answer = client.post(HERE, {"list": LIST})
    assert "2 new, 1 already there. Nothing is kept yet." in text_of(answer)
    assert "20 November 1958 male" in text_of(answer)
    assert "Bo Madeup" not in text_of(client.get("/patients/"))
    (carried,) = re.findall(r'type="hidden" name="list" value="([^"]*)"', answer.content.decode())
    press = {"list": unescape(carried), "step": "keep"}
    assert "2 patients are added." in text_of(client.post(HERE, press))
    again = text_of(client.post(HERE, press))
    assert "Everybody on the list is here; nobody had to be added." in again
    assert "3 already there" in again
    found = text_of(client.get("/patients/"))
    assert [found.count(each) for each in ("Ida Invented", "Bo Madeup", "Cy Nobody")] == [1, 1, 1]


@pytest.mark.parametrize("parted_by", [",", ";", "\t"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig"])
@pytest.mark.parametrize("ends", ["\n", "\r\n", "\r"])
def test_a_file_is_read_however_it_was_saved(
    client: Client, parted_by: str, encoding: str, ends: str
) -> None:
    """Commas, semicolons or tabs, with or without a mark of its encoding; it replaces what was typed."""
    text = "Sex,Name,Number,Birth_date\nF,Zoë Invented,K-1,1990-03-01\n\nfemale,=1+2,K-2,\n"
    file = SimpleUploadedFile("l.csv", text.replace(",", parted_by).replace("\n", ends).encode(encoding))
    answer = client.post(HERE, {"list": "ignored", "list_file": file, "step": "keep"})
    assert "2 patients are added." in text_of(answer)
    found = text_of(client.get("/patients/"))
    assert "Zoë Invented" in found
    assert "=1+2" in found, "a formula is a text like any other"


def test_everything_wrong_is_told_at_once_and_nothing_is_lost(client: Client) -> None:
    """Every line with its remedy, that of a known number with both people; nobody is added."""
    add(client)
    typed = (
        "number,name,birth date,sex\n"
        "K-1,Bo Madeup,1958-11-20,\nK-2,,01/03/1990,femal\nK-3,Cy Nobody,19900301,x\n"
        "K-4,Di Fine,1990-02-30,\nK-5,Ed Fine,2999-01-01,\nK-6,Fa Fine,,,more\nK-7,Gus,,\nK-7,Gus,,\n"
        f"{'9' * 41},Hal\u200d,,\n"
    )
    for step in ("", "keep"):
        answer = client.post(HERE, {"list": typed, "step": step})
        assert problems_of(answer) == [
            "line 3, name: is missing; write up to 200 characters",
            "line 3, birth date: '01/03/1990' is no day of the calendar; write YYYY-MM-DD",
            "line 3, sex: 'femal' is not allowed here; did you mean 'female'?",
            "line 4, birth date: '19900301' is no day of the calendar; write YYYY-MM-DD",
            "line 4, sex: 'x' is not allowed here; allowed: female, male",
            "line 5, birth date: '1990-02-30' is no day of the calendar; write YYYY-MM-DD",
            problems_of(answer)[6],
            "line 7: '5' cells are more than there are columns; there are 4",
            "line 9, number: 'K-7' stands on line 8 too; list everybody once",
            f"line 10, number: '{'9' * 40}' is too long or cannot be printed; write up to 40 characters",
            "line 10, name: 'Hal\u200d' is too long or cannot be printed; write up to 200 characters",
            (
                "line 2, number: 'K-1' is the number of Ida Invented, born 1990-03-01; the list says "
                "Bo Madeup, born 1958-11-20; correct the number, or that patient's details"
            ),
        ]
        assert problems_of(answer)[6].startswith(
            "line 6, birth date: '2999-01-01' is out of range; allowed: "
        )
        assert kept_text(answer) == typed
    assert "Di Fine" not in text_of(client.get("/patients/"))


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("", "Is empty; paste lines or choose a file; begin with: number, name, birth date, sex"),
        (
            "K-1,Ida\nK-2,Bo\n",
            "line 1: names no column number and no column name; begin with: number, name, ",
        ),
        ("number,birth date\n", "line 1: names no column name; begin with: number, name, birth date, sex"),
        ("number,name,birthdate\nK,I,\n", "line 1: 'birthdate' is no column; did you mean 'birth date'?"),
        ("number,name,name\nK,I,\n", "line 1: 'name' stands there twice; did you mean 'name'?"),
        (f"number,name,{'x' * 999}\nK,I,\n", f"line 1: '{'x' * 40}' is no column; allowed: number, name, "),
        ("\n\nnumber,name\n", "Lists nobody; write a line for each patient below line 1"),
        ('number,name\nK-1,"Ida\nK-2,Bo\n', "line 2: has a quotation mark that is not closed; close it, "),
        ("number,name\n" + "K,I\n" * 2001, "Patients are too many at once; divide the list: at most 2000"),
        ('number,name\nK-1,"' + "I" * 140_000, "line 2: is no line of a table: field larger than"),
    ],
)
def test_a_list_that_is_none_is_told_in_one_message(client: Client, typed: str, says: str) -> None:
    """Its head, its length or its shape; its lines are then not told about one by one."""
    answer = client.post(HERE, {"list": typed, "step": "keep"})
    (told,) = problems_of(answer)
    assert told.startswith(says)
    assert kept_text(answer) == typed.lstrip("\n")


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"\xff\xfe\x00", "Is no text; save it as CSV in UTF-8"),
        ("number,name\nK,Zoë\n".encode("latin-1"), "Is no text; save it as CSV in UTF-8"),
        ("number,name\nK,Z\n".encode("utf-16-le"), "line 1: holds a null character; save it as CSV in UTF-8"),
        (b"number,name\n" + b" " * 2_000_000, "Is too large; send up to 2 MB"),
        (b"number,name\n" + b" " * 6_100_000, "Is too large; send up to 2 MB"),
    ],
)
def test_a_file_that_cannot_be_read_is_told_and_what_was_typed_stays(
    client: Client, content: bytes, says: str
) -> None:
    """Another encoding, another kind of file, or far more than a list."""
    sent = {"list_file": SimpleUploadedFile("list.xls", content), "step": "keep"}
    answer = client.post(HERE, {"list": LIST, **sent})
    assert problems_of(answer) == [says]
    if "null" not in says:
        assert kept_text(answer) == LIST


def test_odd_characters_are_text(client: Client) -> None:
    """Markup, quotes, and letters of any script come back as they were typed."""
    typed = 'number,name\n"<b>&""1""</b>","O\'Nobody, 李 \U0001f9b5"\n'
    answer = client.post(HERE, {"list": typed})
    assert kept_text(answer) == typed
    assert "1 new, 0 already there" in text_of(answer)
    client.post(HERE, {"list": typed, "step": "keep"})
    page = client.get("/patients/").content.decode()
    assert "O'Nobody, 李 \U0001f9b5" in unescape(page)
    assert "<b>&" not in page


def test_who_came_in_meanwhile_is_not_added_twice(client: Client) -> None:
    """Between looking and keeping the same person may be added by hand, or somebody else under the number."""
    client.post(HERE, {"list": LIST})
    add(client)
    client.post("/patients/new/", {"number": "K-2", "label": "Another Invented"})
    (told,) = problems_of(client.post(HERE, {"list": LIST, "step": "keep"}))
    assert told.startswith("line 3, number: 'K-2' is the number of Another Invented, no birth date; ")
    assert "Cy Nobody" not in text_of(client.get("/patients/"))


@pytest.mark.parametrize("role", [role for role in Role if role is not Role.CLINICIAN])
def test_only_a_clinician_gets_in(client: Client, monkeypatch: pytest.MonkeyPatch, role: Role) -> None:
    """Nobody else sees the page or adds anybody."""
    whoever = visitor.local_clinician

    def another(device: str) -> Any:
        return replace(whoever(device), roles=frozenset({role}))

    monkeypatch.setattr(visitor, "local_clinician", another)
    assert client.get(HERE).status_code == 403
    assert client.post(HERE, {"list": LIST, "step": "keep"}).status_code == 403
    monkeypatch.setattr(visitor, "local_clinician", whoever)
    assert "There is no patient yet." in text_of(client.get("/patients/"))
