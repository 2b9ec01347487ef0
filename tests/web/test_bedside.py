"""What the examination page is given: every sign once, a keypad that offers only what is possible, norms."""

import gzip
import json
from collections import Counter
from itertools import pairwise

from django.test import Client

from fabella.packaged import packaged_table
from fabella.protocol import Kind, load_protocol
from fabella.record import Patient, Sex, places_marked_normal
from fabella.web.bedside.norms import norm_words
from fabella.web.bedside.signs import bedside_digest, bedside_text, bedside_tree
from fabella.web.templating import url

PROTOCOL = load_protocol()
TREE = bedside_tree(PROTOCOL)
SIGNS = [sign for position in TREE["positions"] for sign in position["signs"]]


def test_every_sign_but_courtesies_stands_there_once() -> None:
    """In the order of the examination, with its name and levels."""
    assert [each["id"] for each in SIGNS] == [
        sign.id for sign in PROTOCOL.signs if sign.kind is not Kind.COURTESY
    ]
    for each in SIGNS:
        sign = PROTOCOL.sign(each["id"])
        assert each["name"] == sign.name
        assert [level[0] for level in each.get("levels", ())] == [level.id for level in sign.scale.levels]
        assert ("measure" in each) == sign.has_measure


def test_further_questions_stand_under_headings_a_dozen_at_most_under_each() -> None:
    """Sixty folded questions in one row are found by nobody; what is routine needs no heading."""
    (history,) = [each for each in TREE["positions"] if each["id"] == "history"]
    further = [each for each in history["signs"] if "routine" not in each]
    counts = Counter(each["topic"] for each in further)
    assert [each for each in history["signs"] if "routine" in each and "topic" in each] == []
    assert list(counts) == list(packaged_table("web/bedside/topics.toml")["history"].values())
    assert sum(counts.values()) == len(further) > 50
    assert max(counts.values()) <= 12
    assert sum(1 for a, b in pairwise(further) if a["topic"] != b["topic"]) == len(counts) - 1


def test_a_keypad_offers_only_what_the_record_takes() -> None:
    """Every likely value lies within the limits of its sign, in order and without repetition."""
    for each in SIGNS:
        if measure := each.get("measure"):
            assert measure["values"] == sorted(set(measure["values"])), each["id"]
            assert measure["low"] <= measure["values"][0], each["id"]
            assert measure["values"][-1] <= measure["high"], each["id"]
            assert measure["step"] > 0


def test_what_one_touch_covers_is_what_the_record_covers() -> None:
    """The signs marked as covered are those that the server states."""
    for position in TREE["positions"]:
        covered = {each["id"] for each in position["signs"] if each.get("covered")}
        assert covered == {sign for sign, _ in places_marked_normal(PROTOCOL, position["id"])}


def test_the_tree_is_kept_for_good_and_packed_for_who_can_unpack(demo: Client) -> None:
    """Another version has another address; packed it is the same and a quarter of the size."""
    address = url("api_signs", digest=bedside_digest())
    plain, packed = demo.get(address), demo.get(address, HTTP_ACCEPT_ENCODING="gzip, br")
    assert json.loads(plain.content) == TREE
    assert gzip.decompress(packed.content) == plain.content == bedside_text()
    assert len(packed.content) * 4 < len(plain.content)
    assert "immutable" in packed.headers["Cache-Control"]
    assert demo.get(url("api_signs", digest="0" * 12)).status_code == 404


def test_norms_stand_there_for_known_age_only() -> None:
    """Roach 1991: active flexion 132° (SD 10) from 25 to 74 years; without an age no norm is chosen."""
    words = norm_words(Patient(age_years=40, sex=Sex.FEMALE))
    assert words["active_flexion"] == "normal: 112 to 152°, mean 132°"
    assert norm_words(Patient()) == {}
