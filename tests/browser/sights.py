"""What there is to see: every page of the route table, in each state in which it looks different.

A page that is added to `fabella.web.urls` is seen without a line here, on an open visit of the invented
clinic. A line is needed where it should be seen in other states, or where an address leads to no page.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http import HTTPStatus
from pathlib import Path
from typing import Any

from playwright.sync_api import Page

from fabella.web.demo.examining import CANDIDATE_CODE, EXAMINER_CODE
from fabella.web.demo.past_exams import FAILED, FAILED_CODE, PASSED_CODE
from tests.browser.chromium import Watch
from tests.browser.clinics import PASSWORD, Clinic, open_accounts, running_clinic
from tests.browser.pointing import choose_leg, on_leg
from tests.web.drawn_leg import POINTS
from tests.web.walking import (
    CLOSED_EXAM,
    DRAFT_EXAM,
    DRAWN_RUNS,
    OPEN_RUN,
    PARTS,
    RELEASED_EXAM,
    WITHOUT_SIGN_ON_NOT_THERE,
    Route,
    routes,
)

STATES: dict[str, tuple[str, ...]] = {
    "visit": ("open", "disputed", "amended"),
    "sign": ("open", "disputed"),
    "signed": ("amended",),
    "again": ("signed",),
    "amend": ("signed",),
    "found_later": ("signed", "open"),
    "pictures": ("open", "signed"),
    "found_again": ("signed",),
}
"""How visits stand on which a page is seen (`tests.browser.clinics.STATES`); by default one that is open."""

PARTS_OF_PAGES = {"card", "comes_to", "comes_to_earlier", "visit_now", "practice_now", "exam_watch_now"}
"""Addresses that answer with a part of a page."""

DISPUTED_SHEET = "/exams/1/watch/effusion/C10/Thimble/"
"""Of the invented exam, on which two tablets disagree."""

INVENTED, GUARDED, SIGNING_ON = "invented", "guarded", "signing on"

ACCOUNTS = {"ann": "clinician", "kay": "administrator", "sam": "student", "tim": "teacher"}
"""The accounts of the other clinic, where everybody logs in and nobody is ill."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sight:
    """One page in one state.

    Parameters
    ----------
    name
        Of its pictures.
    route, parts
        Name and parts of its address; ``visit_id`` is how the visit stands.
    path
        The address itself, where the route table has none.
    status
        What the server answers.
    account
        Who has logged in, in the clinic with accounts; empty in the invented clinic, None is nobody yet.
    signs_on
        Whether it is of the clinic with accounts that has the hospital's sign-on, whose provider is down.
    code
        Of an exam, entered before; empty for none.
    then
        What is done on the page before it is looked at.
    """

    name: str
    route: str = ""
    parts: dict[str, Any] = field(default_factory=dict)
    path: str = ""
    status: int = 200
    account: str | None = ""
    signs_on: bool = False
    code: str = ""
    then: Callable[[Page], None] | None = None

    @property
    def clinic(self) -> str:
        """Of which clinic it is a page: the invented one, that with accounts, that with the sign-on."""
        if self.signs_on:
            return SIGNING_ON
        return INVENTED if self.account == "" else GUARDED

    def let_refuse(self, watch: Watch) -> None:
        """Let whoever watches expect what the server refuses here."""
        if self.status >= HTTPStatus.BAD_REQUEST or self.then:
            watch.forgive("responded with a status of 4")
        if self.status >= HTTPStatus.INTERNAL_SERVER_ERROR:
            watch.forgive(f"responded with a status of {self.status}")

    def address(self, clinic: Clinic) -> str:
        """Return its path in a clinic."""
        if self.path:
            return self.path
        parts = dict(self.parts)
        if "visit_id" in parts:
            parts["visit_id"] = clinic.visit(parts["visit_id"])
        if "day" in parts:
            parts["day"] = clinic.day("disputed")  # of today
        return clinic.address(self.route, **parts)

    def show(self, page: Page, clinic: Clinic) -> None:
        """Open it on an empty page, and fail if the server answers otherwise than expected."""
        if self.account:
            log_in(page, self.account)
        if self.code:
            enter_code(page, self.code)
        asked = clinic.origin + self.address(clinic)
        answer = page.goto(asked)
        if answer is None or answer.status != self.status or page.url != asked:
            raise AssertionError(f"{self.name}: {answer and answer.status} {page.url}")
        if not page.title():
            raise AssertionError(f"{self.name} is no whole page: it belongs to PARTS_OF_PAGES")
        page.wait_for_function(_LAID_OUT)
        if self.then:
            self.then(page)


_LAID_OUT = """() => !document.querySelector("#debrief form[data-awaited]")
  && (!document.getElementById("bedside") && !document.getElementById("marking-data")
  || document.querySelector("#comes-part .headline, html[data-ready] #view > *"))"""
"""The pages of an examination and of mark sheets are laid out by their scripts, and a debrief may be worked
out after its page is there; others are there at once."""


@contextmanager
def guarded(folder: Path, *options: str) -> Iterator[Clinic]:
    """Run a server on an empty data folder with `ACCOUNTS`."""
    open_accounts(folder, {name: (role,) for name, role in ACCOUNTS.items()})
    with running_clinic(folder, *options, warms=False) as running:
        yield running


@contextmanager
def signing_on(folder: Path) -> Iterator[Clinic]:
    """Run a server like that of `guarded` which knows a sign-on at which nobody listens."""
    secret = folder.with_name(f"{folder.name}-secret")
    secret.write_text("a secret of nobody")
    issuer = "https:" + "//127.0.0.1:9/hospital"
    told = ("--sign-on", issuer, "--sign-on-client", "knee", "--sign-on-secret", str(secret))
    with guarded(folder, *told) as running:
        yield running


def log_in(page: Page, account: str) -> None:
    """Log in on a device."""
    page.goto("/login/")
    page.fill("[name=name]", account)
    page.fill("[name=password]", PASSWORD)
    _press(page)
    page.wait_for_url(lambda address: not address.endswith("/login/"))


def enter_code(page: Page, code: str) -> None:
    """Enter the code of an exam on a device."""
    page.goto("/mark/")
    page.fill("[name=code]", code)
    with page.expect_navigation():
        page.locator("form:has([name=code]) button").click()


def _press(page: Page) -> None:
    """Send the form of a page as it is, past the browser's own questions."""
    form = page.locator("main form[method=post]").first
    form.evaluate("form => { form.noValidate = true; }")
    with page.expect_navigation():
        form.locator("button").first.click()


def _leave_out(page: Page) -> None:
    _press(page)
    page.wait_for_selector(".wrong")


def _check(page: Page) -> None:
    _press(page)
    page.wait_for_selector("main .notice, main [role=status], main .problems")


def _enter_wrong(page: Page) -> None:
    page.fill("[name=code]", "AAAAAA")
    _press(page)
    page.wait_for_selector(".problems")


def _fail_to_log_in(page: Page) -> None:
    page.fill("[name=name]", "nobody")  # whoever fails often is shut out for a while
    page.fill("[name=password]", "wrong")
    _press(page)
    page.wait_for_selector(".problems")


def _change_wrongly(page: Page) -> None:
    page.fill("[name=current]", PASSWORD)
    page.fill("[name=new]", "short")
    page.fill("[name=again]", "short")
    with page.expect_navigation():
        page.locator("main form button").click()
    page.wait_for_selector(".says")


def _enter_wrong_exam_code(page: Page) -> None:
    page.fill("[name=code]", "AAAAAAAA")
    page.locator("form:has([name=code]) button").click()
    page.wait_for_selector(".problems")


def _open_sheet(page: Page) -> None:
    """Open the last candidate's sheet, which nobody has begun, and mark a little on it."""
    page.locator(".candidates a").last.click()
    page.locator(".anchors button").nth(2).click()
    page.locator(".opens").nth(1).click()
    page.get_by_role("button", name="Not observed").nth(0).click()
    page.locator(".concern summary").click()
    page.wait_for_selector("#kept[data-kind=saved]")
    _to_the_top(page)


def _to_the_top(page: Page) -> None:
    """Let Tab begin at the beginning again."""
    page.evaluate("document.body.tabIndex = -1; document.body.focus()")
    page.evaluate("document.body.removeAttribute('tabindex'); scrollTo(0, 0)")


def _finish_half(page: Page) -> None:
    """Try to finish a sheet on which something is wanting."""
    _open_sheet(page)
    page.click("#finish")
    page.wait_for_selector(".finishing .problems:visible")
    _to_the_top(page)


def _read_finished(page: Page) -> None:
    """Open the first sheet, which is finished."""
    page.locator(".candidates a").first.click()
    page.locator(".reopen summary").click()
    _to_the_top(page)


def _drawn(page: Page) -> None:
    page.wait_for_selector("#stage:not(:has([data-player])), #stage .playing")


def _preview(page: Page) -> None:
    _press(page)
    page.wait_for_selector("#difficulty:not(:has(form))", timeout=30_000)


def _work_out(page: Page) -> None:
    page.wait_for_selector("main:not(:has(form[data-awaited]))", timeout=30_000)


def _judged(page: Page) -> None:
    page.wait_for_selector("#hands:not(:has(form[data-awaited]))", timeout=60_000)


def _state_the_rest(page: Page) -> None:
    """State a lesion, then with one touch that the rest was looked at and absent."""
    page.get_by_label("MRI").check()
    page.locator("[name=is-acl_tear][value=complete]").check()
    page.locator("#group-first .rest button").click()
    page.wait_for_selector("#group-first .rest .quiet")
    _to_the_top(page)


def _open_images(page: Page) -> None:
    """Open the images of an examination, and what is asked of one that is recorded."""
    page.locator(".position-name[aria-expanded=true]").click()
    page.locator("#position-images .position-name").click()
    page.locator("#position-images .answer.holds").first.click()
    page.wait_for_selector("#position-images .ticks:visible")
    _to_the_top(page)


def _keep_nothing(page: Page) -> None:
    page.locator("#found").evaluate("form => { form.noValidate = true; }")
    with page.expect_navigation():
        page.locator("#found button.main").click()
    page.wait_for_selector(".wrong")


def _measure_nothing(page: Page) -> None:
    _press(page)
    page.wait_for_selector(".says")


def _begin_pointing(page: Page) -> None:
    choose_leg(page)
    _to_the_top(page)


def _point_at_all(page: Page) -> None:
    choose_leg(page)
    for at in POINTS.values():
        page.mouse.click(*on_leg(page, at))
    page.wait_for_selector(".measured-value")
    _to_the_top(page)


def _keep_a_picture(page: Page) -> None:
    _point_at_all(page)
    page.get_by_role("button", name="Keep it").click()
    page.wait_for_selector(".kept-picture")
    page.wait_for_load_state("networkidle")
    _to_the_top(page)


def _name_wrongly(page: Page) -> None:
    page.fill("[name=candidates]", "candidate,extra time\nR01,lots\nR01,\n")
    _press(page)
    page.wait_for_selector(".problems, .says")


def _list_patients(page: Page, text: str, shown: str) -> None:
    page.fill("[name=list]", text)
    _press(page)
    page.wait_for_selector(shown)
    _to_the_top(page)


def _list_wrongly(page: Page) -> None:
    """Paste a list with lines that are wrong, and the number of somebody else."""
    text = "number,name,birth date,sex\nINV-01,Ada Kettle,2001-02-03,female\nINV-91,Cy Ladle,01/02/1990,x\n"
    _list_patients(page, text, ".problems")


def _list_rightly(page: Page) -> None:
    """Paste a list, and look at what keeping it would do."""
    text = "number,name,birth date,sex\nINV-91,Cy Ladle,1990-02-01,male\nINV-92,Di Thimble,,\n"
    _list_patients(page, text, "[name=step][value=keep]")


def _let_drop_out(page: Page) -> None:
    page.select_option("[name=examiner]", "Copper")
    _press(page)
    page.wait_for_selector("#worked-out h2", timeout=60_000)


def _make_codes(page: Page) -> None:
    _press(page)
    page.wait_for_selector(".slips")


def _analysed(page: Page) -> None:
    page.wait_for_selector("#analysis .chapter", timeout=60_000)


def _made_all(page: Page) -> None:
    page.wait_for_selector("#pages a.main", timeout=60_000)


def _decide(page: Page) -> None:
    """Decide an exam that is closed, unless it is."""
    if not page.locator(".decided").count():
        page.get_by_role("button", name="Decide by these rules").click()
        page.wait_for_selector(".decided")
    _to_the_top(page)


def _decide_first(page: Page) -> None:
    """Decide an exam, and come back to its own page."""
    address = page.url
    page.goto(f"{address}results/")
    _decide(page)
    page.goto(address)


def _unfold_all(page: Page) -> None:
    page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")


_DRAFT, _CLOSED, _RELEASED = ({"exam_id": each} for each in (DRAFT_EXAM, CLOSED_EXAM, RELEASED_EXAM))
_MORE = (
    Sight(name="patients_none", path="/patients/?q=nobody"),
    Sight(name="add_patient_wrong", route="add_patient", then=_leave_out),
    Sight(name="add_patients_wrong", route="add_patients", then=_list_wrongly),
    Sight(name="add_patients_foretold", route="add_patients", then=_list_rightly),
    Sight(name="administration_checked", route="administration", then=_check),
    Sight(name="examine_images", route="examine", parts={"visit_id": "open"}, then=_open_images),
    Sight(name="own_hands", route="own_hands", then=_judged),
    Sight(name="own_hands_none", route="own_hands", account="ann"),
    Sight(name="found_later_rest", route="found_later", parts={"visit_id": "signed"}, then=_state_the_rest),
    Sight(name="measure_wrong", route="measure", parts={"visit_id": "open"}, then=_measure_nothing),
    Sight(name="measure_pointing", route="measure", parts={"visit_id": "open"}, then=_begin_pointing),
    Sight(name="measure_pointed", route="measure", parts={"visit_id": "open"}, then=_point_at_all),
    Sight(name="pictures_kept", route="measure", parts={"visit_id": "open"}, then=_keep_a_picture),
    Sight(name="found_later_wrong", route="found_later", parts={"visit_id": "signed"}, then=_keep_nothing),
    Sight(name="practice_run_open", route="practice_run", parts={"run_id": OPEN_RUN}),
    *(
        Sight(name=f"practice_run_{state}", route="practice_run", parts={"run_id": run}, then=_drawn)
        for state, run in DRAWN_RUNS.items()
    ),
    Sight(name="teach_build_preview", route="teach_build", then=_preview),
    Sight(name="teach_set", route="teach_set", parts={"set_id": 1}, then=_work_out),
    Sight(name="teach_patient", route="teach_patient", parts={"drawn_id": 1}, then=_work_out),
    Sight(name="exams_none", route="exams", account="tim"),
    Sight(name="exam_draft", route="exam", parts=_DRAFT),
    Sight(name="exam_stations_draft", route="exam_stations", parts=_DRAFT),
    Sight(name="exam_station_draft", route="exam_station", parts=_DRAFT | {"station": "2"}),
    Sight(name="exam_day", route="exam_day", parts=_DRAFT),
    Sight(name="exam_people", route="exam_people", parts=_DRAFT),
    Sight(name="exam_people_wrong", route="exam_people", parts=_DRAFT, then=_name_wrongly),
    Sight(name="exam_timetable_candidates", path="/exams/1/timetable/?by=candidates"),
    Sight(name="exam_change", route="exam_change", parts=_DRAFT, then=_let_drop_out),
    Sight(name="exam_codes_made", route="exam_codes", parts=_DRAFT | {"who": "examiners"}, then=_make_codes),
    Sight(name="mark_door_entered", route="mark_door", code=EXAMINER_CODE),
    Sight(name="mark_door_wrong", route="mark_door", then=_enter_wrong_exam_code),
    Sight(name="mark_sheets", route="mark_sheets", code=EXAMINER_CODE),
    Sight(name="mark_sheets_sheet", route="mark_sheets", code=EXAMINER_CODE, then=_open_sheet),
    Sight(name="mark_sheets_half", route="mark_sheets", code=EXAMINER_CODE, then=_finish_half),
    Sight(name="mark_sheets_finished", route="mark_sheets", code=EXAMINER_CODE, then=_read_finished),
    Sight(name="mark_result", route="mark_result", code=CANDIDATE_CODE),
    Sight(name="mark_result_passed", route="mark_result", code=PASSED_CODE),
    Sight(name="mark_result_failed", route="mark_result", code=FAILED_CODE),
    Sight(name="exam_closed", route="exam", parts=_CLOSED),
    Sight(name="exam_analysis_closed", route="exam_analysis", parts=_CLOSED, then=_analysed),
    Sight(name="exam_results_closed", route="exam_results", parts=_CLOSED),
    Sight(name="exam_results_decided", route="exam_results", parts=_CLOSED, then=_decide),
    Sight(name="exam_decided", route="exam", parts=_CLOSED, then=_decide_first),
    Sight(name="exam_released", route="exam", parts=_RELEASED),
    Sight(name="exam_analysis_released", route="exam_analysis", parts=_RELEASED, then=_analysed),
    Sight(name="exam_results_released", route="exam_results", parts=_RELEASED),
    Sight(name="exam_feedback_made", route="exam_feedback", parts=_RELEASED, then=_made_all),
    Sight(name="exam_result_appeal", route="exam_result", parts=_RELEASED | {"candidate": FAILED}),
    Sight(
        name="exam_sheet_appeal",
        route="exam_sheet",
        parts=_RELEASED | {"station": "1", "candidate": FAILED, "examiner": "Anvil"},
        then=_unfold_all,
    ),
    Sight(name="exam_trail_released", route="exam_trail", parts=_RELEASED),
    Sight(name="exam_sheet_disputed", path=DISPUTED_SHEET),
    Sight(name="exam_typed_found", path="/exams/1/typed/?q=C24"),
    Sight(name="class_door_wrong", route="class_door", then=_enter_wrong),
    Sight(name="start_teacher", route="start", account="tim"),
    Sight(name="teach_none", route="teach", account="tim"),
    Sight(name="practice_none", route="practice", account="sam"),
    Sight(name="not_there", path="/nowhere/", status=404),
    Sight(name="login", route="login", account=None),
    Sight(name="login_wrong", route="login", account=None, then=_fail_to_log_in),
    Sight(name="login_sign_on", route="login", account=None, signs_on=True),
    Sight(name="login_sign_on_left", path="/login/?left=sign-on", account=None, signs_on=True),
    Sight(name="login_sign_on_silent", path="/login/hospital/", status=502, account=None, signs_on=True),
    Sight(name="own_password", route="own_password", account="ann"),
    Sight(name="own_password_wrong", route="own_password", account="ann", then=_change_wrongly),
    Sight(name="own_sessions_account", route="own_sessions", account="ann"),
    Sight(name="start_empty", route="start", account="ann"),
    Sight(name="patients_empty", route="patients", account="ann"),
    Sight(name="administration_accounts", route="administration", account="kay"),
    Sight(name="start_student", route="start", account="sam"),
    Sight(name="not_allowed", path="/patients/", status=403, account="sam"),
)


def pages() -> Iterator[Route]:
    """Yield every address at which a page can be looked at."""
    return (route for route in routes() if not route.sends_only and not is_no_page(route))


def is_no_page(route: Route) -> bool:
    """Say whether an address answers with something else than a page."""
    is_file = "." in route.address.rpartition("/")[2]
    return (
        is_file
        or route.name in PARTS_OF_PAGES | WITHOUT_SIGN_ON_NOT_THERE
        or route.address.startswith("/api/")
    )


def sights() -> tuple[Sight, ...]:
    """Return everything there is to see."""
    own = {sight.name for sight in _MORE}
    return (*(sight for route in pages() if route.name not in own for sight in _of(route)), *_MORE)


def _of(route: Route) -> Iterator[Sight]:
    parts = {part: PARTS[part] for part in route.parts}
    if "visit_id" not in route.parts:
        yield Sight(name=route.name, route=route.name, parts=parts)
        return
    states = STATES.get(route.name, ("open",))
    for state in states:
        name = route.name if len(states) == 1 else f"{route.name}_{state}"
        yield Sight(name=name, route=route.name, parts=parts | {"visit_id": state})
