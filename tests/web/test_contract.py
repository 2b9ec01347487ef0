"""Every page is a contract: its context holds all that its template may show, and nothing else."""

from collections.abc import Iterator
from dataclasses import fields, replace
from datetime import UTC, datetime
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.test.utils import override_settings
from jinja2 import Environment, nodes
from jinja2.meta import find_referenced_templates, find_undeclared_variables

from fabella.store.exams.models import ExamPaper
from fabella.web import templating
from fabella.web.demo.examining import CANDIDATE_CODE, EXAMINER_CODE
from fabella.web.sign_on.chosen import SignOn
from fabella.web.templating import TEMPLATES, Frame, environment
from tests.web.drawn_leg import drawn_leg
from tests.web.walking import DRAFT_EXAM, OPEN_VISIT, Route, routes

PAGES_FOLDER = TEMPLATES[0]
ADDED_BY_THE_FRAMEWORK = {"csrf_input", "csrf_token", "request"}
MODULES = sorted(path.stem for path in PAGES_FOLDER.glob("*.py") if path.stem != "__init__")
PAGES: list[Any] = [
    value
    for name in MODULES
    for value in vars(import_module(f"fabella.web.pages.{name}")).values()
    if isinstance(value, type) and "template" in vars(value) and value.__module__.endswith(f".{name}")
]
ENVIRONMENT: Environment = environment()


def parsed(name: str) -> nodes.Template:
    """A template, parsed."""
    path = next(folder / name for folder in TEMPLATES if (folder / name).exists())
    return ENVIRONMENT.parse(path.read_text("utf-8"))


def used(name: str) -> set[str]:
    """The names that a template and all that it extends or includes take from the context."""
    tree = parsed(name)
    names = find_undeclared_variables(tree) - set(ENVIRONMENT.globals) - set(_made_here(tree))
    for other in find_referenced_templates(tree):
        if other != "macros.html":
            names |= used(str(other))
    return names


def _made_here(tree: nodes.Template) -> Iterator[str]:
    """Names that a template imports or makes itself: macros, mostly."""
    for found in tree.find_all(nodes.FromImport):
        yield from (name if isinstance(name, str) else name[1] for name in found.names)
    yield from (macro.name for macro in tree.find_all(nodes.Macro))


def name_of(page: Any) -> str:
    """The name of a page's context."""
    return str(page.__name__)


@pytest.mark.parametrize("page", PAGES, ids=name_of)
def test_a_template_uses_its_context_and_nothing_else(page: Any) -> None:
    """The names in a page's templates are exactly the fields of its context, but for what every page has."""
    own = {each.name for each in fields(page)}
    assert used(page.template) - ADDED_BY_THE_FRAMEWORK - {"frame"} == own


@pytest.mark.parametrize("page", [*PAGES, Frame], ids=name_of)
def test_every_field_is_documented(page: Any) -> None:
    """Each field of a context says in a sentence what it holds."""
    for each in fields(page):
        told = each.metadata.get("help", "")
        assert told.endswith("."), each.name
        assert told[0].isupper(), each.name


def test_every_template_belongs_to_a_page_or_to_another_template() -> None:
    """No template lies about unused."""
    whole = {page.template for page in PAGES}
    parts = {str(part) for name in whole for part in find_referenced_templates(parsed(name))}
    parts |= {str(part) for name in parts for part in find_referenced_templates(parsed(name))}
    there = {path.name for folder in TEMPLATES for path in Path(folder).glob("*.html")}
    assert there == whole | parts


def test_what_is_rendered_is_what_is_documented(demo: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    """The context that really reaches each template has exactly the documented fields."""
    seen: dict[str, set[str]] = {}
    context_of = templating.context_of

    def watched(page: Any, frame: Frame) -> dict[str, Any]:
        context = context_of(page, frame)
        seen[type(page).__name__] = set(context)
        return context

    monkeypatch.setattr(templating, "context_of", watched)
    drafts = _readable(exam_id=DRAFT_EXAM, station="1")
    for route in (*_readable(), *_readable(visit_id=OPEN_VISIT), *drafts):
        demo.get(route.address)
    demo.post("/teach/patients/new/", {"step": "preview", "curriculum": "first"})
    leg = SimpleUploadedFile("leg.jpg", drawn_leg())
    limb = {"view": "bent_knee", "side": "right"}
    demo.post(f"/visits/{OPEN_VISIT}/measure/", {"do": "read", **limb, "file": leg})
    demo.post(f"/visits/{OPEN_VISIT}/measure/now/", {**limb, "width": "900", "height": "760"})
    for code, address in ((EXAMINER_CODE, "/mark/sheets/"), (CANDIDATE_CODE, "/mark/result/")):
        demo.post("/mark/", {"code": code})
        demo.get(address)
    newer = {
        "name": "station:2",
        "version": 9,
        "text": "{}",
        "by": "tim",
        "at": datetime(2027, 3, 4, tzinfo=UTC),
    }
    ExamPaper.objects.create(exam_id=DRAFT_EXAM, why="", **newer)
    demo.get(f"/exams/{DRAFT_EXAM}/stations/2/")
    chosen = SignOn(issuer="https:" + "//sign-on.hospital.test", client="c", secret="s")  # noqa: S106
    with override_settings(FABELLA=replace(settings.FABELLA, sign_on=chosen)):
        demo.get("/login/hospital/back/")
    for page in PAGES:
        if page.__name__ in seen:
            assert seen[page.__name__] == {"frame", *(each.name for each in fields(page))}
    assert {page.__name__ for page in PAGES} - set(seen) == {"WaitingPage"}


def _readable(**parts: object) -> list[Route]:
    return [route for route in routes(**parts) if not route.sends_only]
