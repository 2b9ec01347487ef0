"""An exam built in a browser: two stations, six candidates, three examiners, one of whom drops out."""

import re

from playwright.sync_api import Page, expect

from tests.browser.chromium import Watch
from tests.browser.clinics import Clinic
from tests.browser.conftest import OpenPage

CANDIDATES = "candidate,extra time\nC1,\nC2,\nC3,25 %\nC4,\nC5,\nC6,\n"
EXAMINERS = "examiner,reserve\nEmber,\nFern,\nRowan,yes\n"


def build_stations(page: Page) -> None:
    """Propose two stations; add what hurts to the first, and more to the second than it has time for."""
    page.goto("/exams/")
    page.get_by_label("Name").fill("Year 4, first sitting")
    page.get_by_label("Day").fill("2127-03-04")
    page.get_by_role("button", name="Make the exam").click()
    page.get_by_role("link", name="Stations", exact=True).click()
    page.get_by_label("What it tests").select_option(label="Ligaments")
    page.get_by_role("button", name="Propose it").click()
    expect(page.locator(".takes")).to_contain_text("Done one after the other")
    page.get_by_role("button", name=re.compile("^Add: Pivot shift")).click()
    expect(page.locator("#pivot_shift")).to_be_visible()
    expect(page.get_by_role("heading", level=1)).to_contain_text("version 2")
    page.get_by_role("link", name="Stations", exact=True).click()
    page.get_by_role("button", name="Propose it").click()
    expect(page.locator(".takes")).to_contain_text("of 8 min")
    page.get_by_role("button", name=re.compile("^Add: Watches the walk")).click()
    expect(page.locator(".takes")).to_contain_text("cannot be done in the time")
    page.locator("#greets summary").click()
    page.locator("#greets").get_by_label("Weight").fill("2")
    page.get_by_label("Minutes").fill("13")
    page.get_by_role("button", name="Save").first.click()
    expect(page.locator(".takes")).to_contain_text("of 13 min")
    expect(page.locator("#greets summary")).to_contain_text("counts 2 times")


def plan_day(page: Page) -> None:
    """Plan three rounds, the last with longer stations, and name everybody."""
    page.goto("/exams/5/day/")
    page.get_by_label("How many", exact=True).fill("3")
    page.get_by_label("Minutes at a station").fill("13")
    page.get_by_label("Rounds with longer stations").fill("3: 25 %")
    page.get_by_role("button", name="Keep this plan").click()
    expect(page.locator("main")).to_contain_text("room for 6 candidates; 2 examiners at work")
    page.get_by_role("link", name="Name the people").click()
    page.get_by_label("Candidates", exact=True).fill(CANDIDATES.replace("25 %", "much"))
    page.get_by_label("Examiners", exact=True).fill(EXAMINERS)
    page.get_by_role("button", name="Keep these people").click()
    expect(page.locator(".problems")).to_contain_text("candidates, line 4, extra time: 'much'")
    files = {"name": "candidates.csv", "mimeType": "text/csv", "buffer": CANDIDATES.encode()}
    page.locator("#candidates_file").set_input_files(files)  # type: ignore[arg-type]
    page.get_by_role("button", name="Keep these people").click()
    expect(page.locator("main")).to_contain_text("6 candidates: 1 with extra time")


def make_timetable(page: Page) -> None:
    """Have it made in another process; the page renews itself."""
    page.get_by_role("link", name="On to the timetable").click()
    page.get_by_role("button", name="Make the timetable").click()
    expect(page.locator(".block")).to_have_count(3, timeout=60_000)
    expect(page.locator(".block").nth(2)).to_contain_text("25 % longer")
    expect(page.locator(".block").nth(2)).to_contain_text("C3")
    expect(page.locator("main")).not_to_contain_text("Rowan")


def drop_out(page: Page) -> None:
    """Ember does not come; Rowan, the reserve, steps in, and only that changes."""
    page.get_by_role("link", name="Somebody drops out or comes late").click()
    page.get_by_label("Who is away").select_option("Ember")
    page.get_by_role("button", name="Work it out").click()
    changed = page.get_by_role("table", name="Who examines elsewhere").locator("tbody tr")
    expect(changed).to_have_count(3, timeout=60_000)
    for row in changed.all():
        expect(row).to_have_text(re.compile("^Round [123], circuit A, station [12]EmberRowan$"))
    expect(page.locator("main")).to_contain_text("6 of 6 candidates stay where they were")
    page.get_by_role("button", name="Keep this timetable").click()
    page.wait_for_url("**/timetable/")
    expect(page.locator("main")).not_to_contain_text("Ember")


def print_papers(page: Page) -> None:
    """Papers of the stations and mark sheets of paper are PDF files, and codes are slips."""
    page.goto("/exams/5/papers/")
    for name in ("All stations", "All, by circuit and station"):
        address = page.get_by_role("link", name=name).get_attribute("href")
        answer = page.request.get(str(address))
        assert (answer.headers["content-type"], answer.body()[:5]) == ("application/pdf", b"%PDF-")
    page.get_by_role("link", name="Slips with the examiners’ codes").click()
    page.get_by_role("button", name="Make codes for all who have none").click()
    expect(page.locator(".slips li")).to_have_count(3)
    page.emulate_media(media="print")
    expect(page.get_by_role("button").first).to_be_hidden()
    expect(page.locator(".slips .code").first).to_be_visible()
    page.emulate_media(media="screen")


def test_a_lead_builds_an_exam_and_changes_it_on_the_day(
    open_page: OpenPage, own_clinic: Clinic, watch: Watch
) -> None:
    """From nothing to an open exam: stations, plan, people, timetable, a drop-out, papers and codes."""
    page = open_page(clinic=own_clinic)
    watch.forgive("responded with a status of 400")  # people who are wrong are refused once
    build_stations(page)
    plan_day(page)
    make_timetable(page)
    drop_out(page)
    print_papers(page)
    page.goto("/exams/5/")
    page.get_by_role("button", name="Open it for marking").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("open for marking")
    page.get_by_role("link", name="Stations", exact=True).click()
    expect(page.locator("main")).to_contain_text("nobody alters them any more")
    page.goto("/exams/5/trail/")
    expect(page.locator("main")).to_contain_text("Ember is away in rounds 1 to 3")
