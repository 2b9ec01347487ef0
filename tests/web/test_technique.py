"""How each sign is looked for: a page, and a part for other pages."""

import re
from html import unescape

import pytest
from django.test import Client

from fabella.figure import drawn_signs
from fabella.protocol import load_protocol

PROTOCOL = load_protocol()


def test_every_sign_has_its_card(client: Client) -> None:
    """Technique, what is normal, cautions and contraindications with their reasons stand on every card."""
    for sign in PROTOCOL.signs:
        answer = client.get(f"/protocol/{sign.id}/card/")
        assert answer.status_code == 200, sign.id
        words = " ".join(
            re.sub(r"<svg.*?</svg>|<[^>]+>", " ", answer.content.decode(), flags=re.DOTALL).split()
        )
        plain = unescape(words)
        assert sign.technique in plain, sign.id
        assert sign.normal in plain, sign.id
        assert sign.caution in plain, sign.id
        assert all(each.why in plain for each in sign.avoid_when), sign.id
        assert ("<svg" in answer.content.decode()) is (sign.id in drawn_signs()), sign.id


@pytest.mark.parametrize("sign", ["lachman", "fever", "joint_line_tenderness_medial"])
def test_the_part_stands_in_the_page(client: Client, sign: str) -> None:
    """The page shows what the part shows, within the frame of all pages."""
    page = client.get(f"/protocol/{sign}/").content.decode()
    part = client.get(f"/protocol/{sign}/card/").content.decode()
    assert part.split("</h2>")[1].strip() in page
    assert "<html" in page
    assert "<html" not in part


def test_a_sign_that_is_not_examined_has_no_card(client: Client) -> None:
    """An unknown sign is not there, on either address."""
    assert client.get("/protocol/lachmann/").status_code == 404
    assert client.get("/protocol/lachmann/card/").status_code == 404


def test_the_help_shows_every_position(client: Client) -> None:
    """Each position of the help has its drawing, each sign leads to its card, and the page stays light."""
    answer = client.get("/help/").content
    page = answer.decode()
    for position in PROTOCOL.positions:
        assert f"{position.name}: {position.patient}" in unescape(page)
    assert 'href="/protocol/lachman/"' in page
    assert len(answer) < 120_000
