"""Mark sheets in WebKit, the engine of most tablets: touched, cut off, loaded again and finished."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.browser.hall import Post, kept, make_hall
from tests.browser.test_webkit import Hands, hands, pytestmark, screen  # noqa: F401  fixtures and mark
from tests.browser.ward import Ward, running_ward

POSTS: list[Post] = []
ANCHORS = ".mark-item[aria-labelledby=item-{}] .anchors button:nth-child({})"


@pytest.fixture
def ward(tmp_path: Path) -> Iterator[Ward]:
    """A server with an open exam at the end of a wire: one station, two circuits."""
    data = tmp_path / "hall"
    POSTS[:] = make_hall(data, stations=1, circuits=2)
    with running_ward(data) as running:
        yield running


def enter(hands: Hands, post: Post) -> None:  # noqa: F811
    """Type the code of an examiner."""
    hands.go("/mark/")
    hands.type("#code", post.code)
    hands.touch("form.sheet button")
    hands.ready()


def mark(hands: Hands, item: str, mark: int) -> None:  # noqa: F811
    """Touch a mark of an item, and see it chosen at once."""
    button = ANCHORS.format(item, mark + 1)
    hands.touch(button)
    hands.until(lambda: hands.holds(f"{button}[aria-pressed=true]"))


def test_a_sheet_in_the_engine_of_tablets(ward: Ward, hands: Hands) -> None:  # noqa: F811
    """One touch a mark, undo, a cut wire, the page loaded again, a concern, the end: everything once."""
    (post, _) = POSTS
    enter(hands, post)
    hands.touch(".candidates a")
    hands.until(lambda: hands.holds(".mark-sheet"))
    mark(hands, "look", 2)
    mark(hands, "feel", 1)
    hands.touch("#undo")
    hands.until(lambda: not hands.holds(ANCHORS.format("feel", 2) + "[aria-pressed=true]"))
    hands.until(lambda: hands.read("#kept") == "Saved")
    before = len(kept(ward.data)[post.examiner, post.candidates[0]])
    ward.wire.cut()
    mark(hands, "feel", 0)
    mark(hands, "move", 2)
    hands.until(lambda: hands.read("#kept").startswith("No connection"))
    assert len(kept(ward.data)[post.examiner, post.candidates[0]]) == before
    ward.wire.mend()
    hands.until(lambda: hands.read("#kept") == "Saved")
    hands.again()
    hands.ready()
    hands.until(lambda: hands.holds(".mark-sheet"))
    for item, place in (("look", 3), ("feel", 1), ("move", 3)):
        assert hands.holds(ANCHORS.format(item, place) + "[aria-pressed=true]"), item
    hands.touch("#finish")
    hands.until(lambda: "Nothing is entered for" in hands.read(".finishing"))
    mark(hands, "tell", 1)
    hands.touch(".grades button:nth-child(3)")
    hands.touch("#finish")
    hands.until(lambda: "This sheet is finished" in hands.read(".finishing"))
    hands.until(lambda: hands.read("#kept") == "Saved")
    ids = kept(ward.data)[post.examiner, post.candidates[0]]
    assert len(ids) == len(set(ids)) > before
