"""Many tablets mark at once, the wire is cut and the server killed: every mark is there in the end, once."""

import random
from contextlib import ExitStack, closing
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.chromium import new_device
from tests.browser.hall import MARK_ALL, Post, Tablet, kept, made_in, make_hall
from tests.browser.ward import Ward, running_ward, until

REAL = 3


def enter(page: Page, post: Post) -> None:
    """Enter the code of an examiner, and wait until the page can be used without a connection."""
    page.goto("/mark/")
    page.fill("[name=code]", post.code)
    page.locator("form:has([name=code]) button").click()
    page.wait_for_selector("html[data-ready]")


def mark_and_kill(
    browser: Browser, data: Path, *, stations: int, circuits: int, kills: int, seed: int, pause_s: float
) -> dict[str, int]:
    """Let a hall mark while it is cut and killed; fail if anything is lost or doubled; return the counts."""
    dice, cuts = random.Random(seed), 0
    posts = make_hall(data, stations=stations, circuits=circuits)
    with running_ward(data, seed=seed) as ward, ExitStack() as stack:
        tablets = [
            Tablet(post, ward.wire.port, seed=seed + number, pause_s=pause_s)
            for number, post in enumerate(posts[REAL:])
        ]
        pages = [
            stack.enter_context(closing(new_device(browser, ward.origin, width=820, height=1180))).new_page()
            for _ in range(REAL)
        ]
        for page, post in zip(pages, posts, strict=False):
            enter(page, post)
        ward.wire.losing = 0.2
        for page, post in zip(pages, posts, strict=False):
            page.evaluate(MARK_ALL, [post.candidates, 1000 * pause_s])
        for tablet in tablets:
            tablet.start()
        for _ in range(kills):
            for _ in range(dice.randrange(1, 4)):
                pages[0].wait_for_timeout(dice.randrange(200, 900))
                ward.wire.cut()
                pages[0].wait_for_timeout(dice.randrange(50, 500))
                ward.wire.mend()
                cuts += 1
            pages[0].wait_for_timeout(dice.randrange(100, 600))
            ward.server.kill()
            _nothing_acknowledged_is_lost(ward, tablets)
            ward.start()
        ward.wire.losing = 0.0
        until(pages[0], lambda: all(each.ended.is_set() for each in tablets), 240)
        for page in pages:
            until(page, lambda page=page: bool(page.evaluate("window.ended")), 240)  # type: ignore[misc]
            page.wait_for_selector("#kept[data-kind=saved]", timeout=60_000)
        made = {key: ids for tablet in tablets for key, ids in tablet.made.items()}
        for page, post in zip(pages, posts, strict=False):
            own, acknowledged = made_in(page, post)
            assert acknowledged == {each for ids in own.values() for each in ids}
            made |= own
        assert [each.refused for each in tablets if each.refused] == []
        assert kept(data) == made, "in order, each once"
        return {
            "tablets": len(posts),
            "sheets": len(made),
            "events": sum(map(len, made.values())),
            "cuts": cuts,
            "kills": kills,
        }


def _nothing_acknowledged_is_lost(ward: Ward, tablets: list[Tablet]) -> None:
    there = {key for ids in kept(ward.data).values() for key in ids}
    for tablet in tablets:
        assert set(tablet.acknowledged) <= there


def test_a_hall_loses_no_mark(browser: Browser, tmp_path: Path) -> None:
    """Sixty tablets, three of them real, mark at once; the wire is cut at random, the server killed thrice.

    What was acknowledged before a kill is there after it; in the end every event that any tablet made is
    there once, in the order in which it was made. `measure_marks` does the same with ten kills.
    """
    counted = mark_and_kill(
        browser, tmp_path / "hall", stations=6, circuits=10, kills=3, seed=1, pause_s=0.25
    )
    assert counted["tablets"] == 60
    assert counted["events"] == 60 * 6 * 7


@pytest.fixture(scope="module", autouse=True)
def _alone(browser: Browser) -> None:
    """The browser is open before the first tablet starts."""
    assert browser.is_connected()
