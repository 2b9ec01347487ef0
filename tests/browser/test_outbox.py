"""What is typed in several windows, on several devices, is sent once, in order, with its conflicts shown."""

from collections.abc import Iterator
from contextlib import closing

import pytest
from playwright.sync_api import Browser, BrowserContext

from tests.browser.chromium import new_device
from tests.browser.ward import (
    ITEMS,
    LAX,
    Ward,
    add,
    answer_to,
    open_outbox,
    opened,
    running_ward,
    until,
    until_arrived,
)

FILL_THE_DISK = """() => {
  IDBObjectStore.prototype.add = () => { throw new DOMException("full", "QuotaExceededError"); };
}"""


@pytest.fixture(scope="module")
def ward(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Ward]:
    """A clinic at the end of a sound wire, where nobody needs an account."""
    with running_ward(tmp_path_factory.mktemp("ward")) as running:
        yield running


@pytest.fixture
def device(browser: Browser, ward: Ward) -> Iterator[BrowserContext]:
    """A device on the ward; nobody minds what it says about lost connections."""
    ward.wire.mend()
    with closing(new_device(browser, ward.origin)) as made:
        yield made


def test_what_is_added_is_sent_in_order_and_answered(ward: Ward, device: BrowserContext) -> None:
    """Operations are kept by the server once each in the order in which they were made."""
    visit = ward.new_visit()
    page = opened(device, visit)
    ids = add(page, *(answer_to(item, value=True) for item in ITEMS[:5]))
    ids += add(page, answer_to(ITEMS[0], value=False))
    until_arrived(page)
    assert ward.ids(visit) == ids
    answers = page.evaluate("told.answers.map((each) => [each.id, each.outcome])")
    assert answers == [[each, "saved"] for each in ids]
    assert page.evaluate("told.states.at(-1).kind") == "saved"


def test_what_was_refused_stays_until_somebody_has_seen_it(ward: Ward, device: BrowserContext) -> None:
    """A refused operation stays, with what was typed and why, on a page loaded again too, until dismissed."""
    visit = ward.new_visit()
    page = opened(device, visit)
    wrong, right = add(page, answer_to(ITEMS[0], "perhaps"), answer_to(ITEMS[1], value=True))
    until_arrived(page)
    page.reload()
    open_outbox(page, visit)
    (refused,) = page.evaluate("box.refused()")
    assert (refused["operation"]["id"], refused["operation"]["value"]) == (wrong, "perhaps")
    assert refused["problems"][0]["says"] == "is text, not true or false"
    assert page.evaluate("told.states.at(-1).kind") == "refused"
    page.evaluate("(id) => box.dismiss(id)", wrong)
    page.reload()
    open_outbox(page, visit)
    assert page.evaluate("box.refused()") == []
    assert ward.ids(visit) == [right]


def test_two_windows_send_everything_once_and_show_each_other(ward: Ward, device: BrowserContext) -> None:
    """Two windows of one browser add at once: all arrives once, and each is told what the other added."""
    visit = ward.new_visit()
    one, other = opened(device, visit), opened(device, visit)
    ward.wire.cut()
    made = [add(page, answer_to(ITEMS[at], value=True))[0] for at in range(10) for page in (one, other)]
    ward.wire.mend()
    until_arrived(one, other)
    assert ward.ids(visit) == made
    assert one.evaluate("told.added") == made[1::2]
    assert other.evaluate("told.added") == made[::2]
    for page in (one, other):
        assert sorted(page.evaluate("told.answers.map((each) => each.id)")) == sorted(made)


def test_a_window_never_overwrites_what_it_did_not_show(ward: Ward, device: BrowserContext) -> None:
    """A window that slept while another one of the same person stated something replaces none of it unseen.

    What a window showed it may replace, be it its own or the other's, kept by the server or not.
    """
    visit = ward.new_visit()
    one, other, asleep = (opened(device, visit) for _ in range(3))
    asleep.close()
    asleep = device.new_page()
    asleep.goto("/help/")
    asleep.evaluate("() => { window.BroadcastChannel = undefined; }")
    open_outbox(asleep, visit)
    finding = {"base": 1, "change": "set_finding", "finding": LAX}
    ward.wire.cut()  # or the server may have it before the other window has looked
    add(one, finding)
    until(other, lambda: bool(other.evaluate("told.added.length")))
    ward.wire.mend()
    until_arrived(one)
    (change,) = add(other, {**finding, "finding": {**LAX, "level": "3+"}})
    (blind,) = add(asleep, {**finding, "finding": {"sign": "lachman", "side": "right", "state": "normal"}})
    until_arrived(other, asleep)
    told = [each for page in (other, asleep) for each in page.evaluate("told.answers")]
    outcomes = {each["id"]: each["outcome"] for each in told}
    assert outcomes[change] == "saved"
    state = other.evaluate("(visit) => fetch(`/api/visits/${visit}`).then((answer) => answer.json())", visit)
    (conflict,) = state["conflicts"]
    assert conflict["stands"]["value"]["level"] == "3+"
    assert [each["value"]["state"] for each in conflict["beside"]] == ["normal"]
    assert ward.ids(visit)[-1] == blind


def test_two_devices_keep_both_values(ward: Ward, browser: Browser, device: BrowserContext) -> None:
    """Entered unseen of each other on two devices, one of them without a connection, both values are kept."""
    visit = ward.new_visit()
    one = opened(device, visit)
    with closing(new_device(browser, ward.origin)) as tablet:
        other = opened(tablet, visit)
        tablet.set_offline(offline=True)
        change = {"base": 0, "change": "set_finding", "finding": LAX}
        add(other, change)
        add(one, {**change, "finding": {**LAX, "level": "3+"}})
        until_arrived(one)
        tablet.set_offline(offline=False)
        until_arrived(other)
        ask = "(visit) => fetch(`/api/visits/${visit}`).then((answer) => answer.json())"
        for page in (one, other):
            (conflict,) = page.evaluate(ask, visit)["conflicts"]
            assert conflict["stands"]["value"]["level"] == "3+"
            assert [each["value"]["level"] for each in conflict["beside"]] == ["2+"]


def test_a_browser_that_keeps_nothing_says_so_and_sends_directly(ward: Ward, device: BrowserContext) -> None:
    """A page whose browser refuses its database says so at once; what is entered is sent all the same."""
    visit = ward.new_visit()
    device.add_init_script("Object.defineProperty(window, 'indexedDB', { value: undefined })")
    page = opened(device, visit)
    assert page.evaluate("told.states[0].durable") is False
    made = add(page, answer_to(ITEMS[0], value=True))
    until_arrived(page)
    assert ward.entries(visit) == [(made[0], "local")]


def test_a_full_disk_loses_nothing_that_can_be_sent(ward: Ward, device: BrowserContext) -> None:
    """With the browser's database full the page says so; what is entered goes after what was kept before."""
    visit = ward.new_visit()
    page = opened(device, visit)
    ward.wire.cut()
    ids = add(page, answer_to(ITEMS[0], value=True))
    page.evaluate(FILL_THE_DISK)
    ids += add(page, answer_to(ITEMS[1], value=True))
    assert page.evaluate("told.states.at(-1).durable") is False
    ward.wire.mend()
    until_arrived(page)
    assert ward.ids(visit) == ids


def test_without_locks_one_window_sends_at_a_time(ward: Ward, device: BrowserContext) -> None:
    """Over plain http, where browsers have no locks, a lease in the database takes their place."""
    visit = ward.new_visit()
    device.add_init_script("Object.defineProperty(Navigator.prototype, 'locks', { value: undefined })")
    one, other = opened(device, visit), opened(device, visit)
    made = [add(page, answer_to(ITEMS[at], value=True))[0] for at in range(8) for page in (one, other)]
    until_arrived(one, other)
    assert ward.ids(visit) == made


def test_a_browser_with_a_new_name_asks_before_it_sends(ward: Ward, device: BrowserContext) -> None:
    """Entries from before the server gave a browser another name wait until somebody has seen whose they are.

    They may be meant for a visit of the same number in another clinic that was here before.
    """
    visit = ward.new_visit()
    page = opened(device, visit)
    ward.wire.cut()
    ids = add(page, answer_to(ITEMS[0], value=True))
    page.close()
    device.clear_cookies(name="fabella_device")
    ward.wire.mend()
    page = device.new_page()
    page.goto(f"/visits/{visit}/examine/")
    button = page.get_by_role("button", name="They belong to this patient")
    button.wait_for()
    assert ward.ids(visit) == []
    button.click()
    until(page, lambda: ward.ids(visit) == ids)
