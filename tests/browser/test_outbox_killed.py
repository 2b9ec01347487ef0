"""A killed server and a wire that breaks at random lose nothing, double nothing, and change no order."""

import random
from contextlib import closing
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.chromium import new_device
from tests.browser.ward import ITEMS, opened, running_ward, until

SAVES = 200
PATIENCE = 480  # seconds: every lost connection doubles the pause before the next, up to half a minute
ENTER_ALL = """([items, saves]) => {
  window.made = [];
  const enter = async () => {
    for (let at = 0; at < saves; at += 1) {
      const change = { base: 0, change: "set_history", item: items[at % items.length], value: at % 2 === 0 };
      made.push((await box.add(change))[0].id);
      await new Promise((done) => setTimeout(done, at % 10 ? 5 : 120));
    }
  };
  enter();
}"""


def acknowledged(page: Page) -> list[str]:
    """The operations that the server has acknowledged."""
    ids: list[str] = page.evaluate("told.answers.map((each) => each.id)")
    return ids


@pytest.mark.parametrize("seed", [1, 2])
def test_nothing_is_lost_when_the_server_is_killed(browser: Browser, tmp_path: Path, seed: int) -> None:
    """Killed twice in the middle of 200 saves over a wire that breaks at random, everything is there once.

    What had been acknowledged before a kill is there after it; what was in the outbox arrives in the end, in
    the order in which it was entered; the trail is whole.
    """
    dice = random.Random(seed)
    with (
        running_ward(tmp_path / "ward", seed=seed) as ward,
        closing(new_device(browser, ward.origin)) as device,
    ):
        visit = ward.new_visit()
        page = opened(device, visit)
        ward.wire.losing = 0.3
        page.evaluate(ENTER_ALL, [ITEMS, SAVES])
        for goal in (60, 130):
            until(page, lambda goal=goal: len(acknowledged(page)) >= goal, PATIENCE)  # type: ignore[misc]
            for _ in range(3):
                ward.wire.cut()
                page.wait_for_timeout(dice.randrange(20, 200))
                ward.wire.mend()
                page.wait_for_timeout(dice.randrange(20, 200))
            ward.server.kill()
            told = acknowledged(page)
            assert set(told) <= set(ward.ids(visit))
            ward.start()
        assert len(told) >= 130
        ward.wire.losing = 0.0
        until(page, lambda: bool(page.evaluate("made.length") == SAVES), PATIENCE)
        until(page, lambda: bool(page.evaluate("box.waiting().number") == 0), PATIENCE)
        assert ward.ids(visit) == page.evaluate("made")
        assert sorted(acknowledged(page)) == sorted(page.evaluate("made"))
        assert "Whole:" in ward.trail()
