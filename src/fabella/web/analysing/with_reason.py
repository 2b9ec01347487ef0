"""Rules that change once an exam is open change with a reason, which stands in the trail."""

from __future__ import annotations

from collections.abc import Callable

from fabella.errors import InputError, Problems
from fabella.store.exams.leading import LONGEST_REASON, Stage
from fabella.store.exams.papers import put_paper
from fabella.web.examining.drafting import Draft
from fabella.web.forms import typed_whole
from fabella.web.visitor import Request


def keep_with_reason(request: Request, draft: Draft, name: str, read: Callable[[], str]) -> None:
    """Keep what was typed as another version of a paper; `InputError` has its mistakes and a missing reason.

    Rules that nobody has written yet are declared without one, at any stage.
    """
    why, seen = " ".join(request.POST.get("why", "").split()), request.POST.get("seen", "")
    problems = Problems()
    text = ""
    try:
        text = read()
    except InputError as error:
        problems += error.problems
    is_change = draft.version(name) and draft.exam.stage is not Stage.DRAFT and text != draft.text(name)
    if (is_change and not why) or len(why) > LONGEST_REASON:
        remedy = f"the exam is not a draft any more: write 1 to {LONGEST_REASON} letters"
        problems.add("why", why[:20], "is no reason", remedy)
    problems.raise_any()
    put_paper(
        request.person,
        draft.exam.id,
        name,
        text,
        why=why,
        now=request.now,
        seen=typed_whole(seen) if seen else None,
    )
