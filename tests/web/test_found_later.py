"""What was found after a visit was signed: asked, kept, corrected and told, without any script."""

import re
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.test import Client

from fabella.anatomy import load_lesions
from fabella.hands import Method
from fabella.report.wording import written_date
from fabella.store.clinic.confirmation_models import Confirmation
from fabella.store.clinic.models import Visit
from fabella.web.found_later.grouping import FIRST, ORDINARY, asked, looks_at_all
from tests.web.clinic import add, begin, bring, sign, text_of

TODAY = datetime.now(tz=UTC).astimezone().date()  # noqa: TID251  as the pages have it
MRI = {"side": "right", "method": "mri", "on": TODAY.isoformat(), "is-acl_tear": "complete"}


@pytest.fixture
def visit(client: Client) -> str:
    """The address of a signed visit."""
    made = begin(client, add(client))
    bring(client, made)
    sign(client, made)
    return made


def tell(client: Client, visit: str, do: str = "keep", where: str = "", **typed: str) -> Any:
    """Send the form about what was found later."""
    return client.post(f"{visit}found-later/{where}", {**typed, "do": do})


def chosen(answer: Any) -> dict[str, str]:
    """What the form on a page states of each lesion, by the radio buttons that are checked."""
    page = answer.content.decode()
    found = re.findall(r'name="is-(\w+)" value="(\w*)" checked', page)
    assert len(found) == len(load_lesions()), "one choice a lesion"
    return {lesion: value for lesion, value in found if value}


def test_every_lesion_is_asked_once() -> None:
    """Each lesion of the model is in one group, and whatever was named stands first and only there."""
    groups = asked(["osteoarthritis", "acl_tear"])
    assert groups[0].lesions == (
        "osteoarthritis",
        "acl_tear",
        *(each for each in ORDINARY if each != "acl_tear"),
    )
    every = [lesion for group in groups for lesion in group.lesions]
    assert sorted(every) == sorted(load_lesions())


def test_what_was_found_is_told_beside_what_had_been_told(client: Client, visit: str) -> None:
    """On the visit with the chance it had been given, in the list of visits in one line, in the trail."""
    answer = tell(client, visit, **MRI, **{"is-pcl_tear": "absent", "by": "Dr Made Up"})
    assert answer.headers["Location"] == f"{visit}#found-later"
    page = text_of(client.get(visit))
    assert re.search(r"anterior cruciate ligament tear \(complete\) told as (over )?\d+", page)
    assert re.search(r"Not there: posterior cruciate ligament tear", page)
    assert "Dr Made Up. Told by Clinician at this machine" in page
    patient = f"/patients/{Visit.objects.get().patient_id}/"
    listed = text_of(client.get(patient))
    assert (
        "right knee: anterior cruciate ligament tear (complete); no posterior cruciate ligament tear"
        in listed
    )
    assert "told what was found later" in text_of(client.get(f"{patient}trail/"))


def test_what_had_been_named_likely_is_asked_first(client: Client, visit: str) -> None:
    """The lesions of the signed conclusion and those of an ordinary report stand before the disclosure."""
    page = client.get(f"{visit}found-later/").content.decode()
    first, rest = page.split('<details class="more-lesions"')
    assert re.search(r"anterior cruciate ligament tear <small>told as [^<]+right", first)
    for lesion in ORDINARY:
        assert f'name="is-{lesion}"' in first
        assert f'name="is-{lesion}"' not in rest
    assert "checked" in first
    assert chosen(client.get(f"{visit}found-later/")) == {}, "not looked for, until somebody says so"


def test_nothing_is_asked_of_a_visit_that_is_open(client: Client) -> None:
    """The page says what to do first, and a form sent all the same is refused in words."""
    made = begin(client, add(client))
    assert "is not signed" in text_of(client.get(f"{made}found-later/"))
    refused = tell(client, made, **MRI)
    assert (refused.status_code, "Sign it first" in refused.content.decode()) == (409, True)
    assert "Tell what was found" not in client.get(made).content.decode()


def test_one_touch_states_the_rest_as_absent_and_takes_it_back(client: Client, visit: str) -> None:
    """What was stated is never overwritten; what was changed since is not taken back."""
    answer = tell(client, visit, f"rest:{FIRST}", **MRI, **{"is-mcl_tear": "grade_2", "note": "as typed"})
    stated = chosen(answer)
    assert answer.status_code == 200
    assert (stated["acl_tear"], stated["mcl_tear"]) == ("complete", "grade_2")
    assert {stated[each] for each in ORDINARY if each not in {"acl_tear", "mcl_tear"}} == {"absent"}
    assert set(stated) >= set(ORDINARY)
    assert "as typed" in answer.content.decode()
    filled = re.search(r'name="rest-first" value="([^"]*)"', answer.content.decode())
    assert filled
    assert "acl_tear" not in filled[1].split()
    form = {f"is-{lesion}": value for lesion, value in stated.items()} | {"is-lcl_tear": "grade_1"}
    back = chosen(tell(client, visit, f"unrest:{FIRST}", **(MRI | form), **{"rest-first": filled[1]}))
    assert back == {"acl_tear": "complete", "mcl_tear": "grade_2", "lcl_tear": "grade_1"}
    assert not Confirmation.objects.exists()


def test_one_touch_fills_its_own_group_alone(client: Client, visit: str) -> None:
    """The rest of the bones says nothing of any other group, and their disclosure is open."""
    answer = tell(client, visit, "rest:bone", side="right", method="radiograph", on="")
    bones = set(next(group.lesions for group in asked([]) if group.id == "bone"))
    stated = chosen(answer)
    assert set(stated) <= bones
    assert set(stated) >= bones - {"tibial_plateau_fracture"}, "unless it had been named, and stands first"
    assert '<details class="more-lesions" open' in answer.content.decode()


@pytest.mark.parametrize("deed", ["rest:nowhere", "unrest:", "withdraw", "anything"])
def test_whatever_is_no_deed_of_the_form_keeps_nothing(client: Client, visit: str, deed: str) -> None:
    """The form comes back as it was sent, and is not taken for one to be kept."""
    answer = tell(client, visit, deed, **MRI)
    assert (answer.status_code, chosen(answer)) == (200, {"acl_tear": "complete"})
    assert not Confirmation.objects.exists()


@pytest.mark.parametrize(
    ("method", "words"),
    [("", "Waits for how it was looked into"), ("radiograph", "radiograph does not look at all of them")],
)
def test_a_look_that_does_not_see_them_all_makes_none_absent(
    client: Client, visit: str, method: str, words: str
) -> None:
    """One touch states no ligament as absent by a radiograph, nor before the method is known."""
    answer = tell(client, visit, f"rest:{FIRST}", **(MRI | {"method": method}))
    assert words in answer.content.decode()
    assert chosen(answer) == {"acl_tear": "complete"}
    kept = tell(
        client, visit, **(MRI | {"method": method, "is-pcl_tear": "absent", "rest-first": "pcl_tear"})
    )
    assert kept.status_code == 400
    assert words in kept.content.decode()
    assert not Confirmation.objects.exists()


def test_only_a_look_at_the_whole_knee_may_be_filled_by_one_touch() -> None:
    """Scan and operation see every group, radiograph and CT the bones, nothing else anything."""
    whole = {each for each in Method if looks_at_all(each, FIRST)}
    assert whole == {Method.MRI, Method.ARTHROSCOPY, Method.OPEN_OPERATION}
    assert {each for each in Method if looks_at_all(each, "bone")} == whole | {Method.RADIOGRAPH, Method.CT}


def test_everything_wrong_is_told_at_once_and_nothing_typed_is_lost(client: Client, visit: str) -> None:
    """Each problem stands at its field, in words; the form comes back as it was sent."""
    answer = tell(client, visit, **{"on": "2020-01-01", "is-acl_tear": "shredded", "by": "Dr Made Up"})
    page = answer.content.decode()
    assert answer.status_code == 400
    assert "say which knee" in page
    assert "say how it was looked into" in page
    assert f"Lies before the examination; give a day from {written_date(TODAY)} on" in page
    assert 'id="is-acl_tear-wrong"' in page
    assert 'value="Dr Made Up"' in page
    empty = tell(client, visit, side="right", method="mri", on=TODAY.isoformat())
    assert "name at least one lesion that was looked for" in empty.content.decode()
    later = (TODAY + timedelta(days=2)).isoformat()
    assert "Lies in the future" in tell(client, visit, **(MRI | {"on": later})).content.decode()
    assert not Confirmation.objects.exists()


def test_a_look_is_corrected_and_withdrawn_for_a_reason(client: Client, visit: str) -> None:
    """The form begins with what stands; without a reason nothing happens; all of it stays readable."""
    tell(client, visit, **MRI, note="Read in haste")
    form = client.get(f"{visit}found-later/1/")
    assert chosen(form) == {"acl_tear": "complete"}
    assert "Read in haste" in form.content.decode()
    better = MRI | {"is-acl_tear": "partial"}
    refused = tell(client, visit, where="1/", **better)
    assert (refused.status_code, 'id="reason-wrong"' in refused.content.decode()) == (400, True)
    assert chosen(refused) == {"acl_tear": "partial"}
    assert tell(client, visit, where="1/", **better, reason="Read again").status_code == 302
    page = text_of(client.get(visit))
    assert "tear (partial)" in page
    assert "Corrected by Clinician at this machine" in page
    assert client.get(f"{visit}found-later/1/").status_code == 404, "it holds no more"
    assert tell(client, visit, "withdraw", "2/", reason="").status_code == 400
    assert tell(client, visit, "withdraw", "2/", reason="Another knee").status_code == 302
    page = text_of(client.get(visit))
    assert "Nothing was told yet" in page
    assert "Withdrawn by Clinician at this machine" in page
    assert "Another knee" in page


def test_opened_again_a_visit_still_shows_what_was_found(client: Client, visit: str) -> None:
    """An amendment hides nothing, and lets nothing be told until it is signed."""
    tell(client, visit, **MRI)
    client.post(f"{visit}amend/", {"reason": "Felt again"})
    page = client.get(visit).content.decode()
    assert "anterior cruciate ligament tear (complete)" in page
    assert "Tell what was found" not in page
    assert f'href="{visit}found-later/1/"' not in page
