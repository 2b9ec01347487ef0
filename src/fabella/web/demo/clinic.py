"""The invented clinic, put into an empty store as hands would do it: visit by visit, in order of time."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

from fabella.anatomy import Side
from fabella.packaged import packaged_table
from fabella.protocol import load_protocol
from fabella.record import Origin, Setting, Sex
from fabella.store import Actor
from fabella.store.clinic.charting import save
from fabella.store.clinic.confirming import confirm
from fabella.store.clinic.details import PatientDetails, VisitDetails
from fabella.store.clinic.patients import add_patient, has_patients
from fabella.store.clinic.signing import amend, sign
from fabella.store.clinic.visits import begin_visit, line_of
from fabella.web.demo.drafting import draft_when_nobody_did
from fabella.web.demo.examining import examine_when_nobody_did
from fabella.web.demo.looking_inside import look_inside_when_nobody_did
from fabella.web.demo.notation import changes_of, context_changes, image_changes
from fabella.web.demo.past_exams import hold_when_nobody_did
from fabella.web.demo.picturing import keep_pictures
from fabella.web.demo.practising import practise_when_nobody_did
from fabella.web.demo.teaching import teach_when_nobody_did
from fabella.web.visitor import local_clinician

_DAYS_A_YEAR = 365.25


@dataclass(frozen=True, slots=True)
class _Hands:
    """Who examines an invented patient, and on which day."""

    actor: Actor
    day: date

    @property
    def now(self) -> datetime:
        """Noon of the day, which orders visits of different days."""
        return datetime.combine(self.day, time(12), tzinfo=UTC)

    def write(self, visit: int, changes: Iterable[dict[str, object]], *, base: int) -> None:
        """Save changes on a visit; raise `ValueError` if any of them is refused."""
        batch = [
            {"id": f"invented-{self.actor.device}-{visit}-{base}-{number}", "base": base, **change}
            for number, change in enumerate(changes)
        ]
        saved = save(self.actor, visit, json.dumps({"operations": batch}), now=self.now)
        for result in saved.results:
            if result.problems:
                raise ValueError("; ".join(map(str, result.problems)))


def fill_when_empty(*, begins: Callable[[], None] = lambda: None) -> None:
    """Put the invented clinic into the store unless it has a patient; call ``begins`` before the first."""
    moment = datetime.now(tz=UTC)
    day = moment.astimezone().date()
    actor = local_clinician("desk-of-the-demo")
    if has_patients(actor):
        return
    begins()
    people = people_of_the_demo()
    patients: dict[str, int] = {}
    visits = [(visit, person) for person in people for visit in person["visit"]]
    for visit, person in sorted(visits, key=lambda each: -int(each[0]["days_ago"])):
        hands = _Hands(actor, day - timedelta(days=visit["days_ago"]))
        number = person["number"]
        if number not in patients:
            patients[number] = add_patient(
                actor, _details(person, day), now=hands.now, origin=Origin.INVENTED
            )
        _examine(hands, patients[number], visit)
    look_inside_when_nobody_did(actor, today=day)
    noon = _Hands(actor, day).now
    practise_when_nobody_did(actor, now=min(noon, moment))
    teach_when_nobody_did(actor, now=noon)
    examine_when_nobody_did(actor, now=moment)
    draft_when_nobody_did(actor, now=noon)
    hold_when_nobody_did(actor, now=noon)


def people_of_the_demo() -> list[dict[str, Any]]:
    """Return everybody in the invented clinic, as written down."""
    people: list[dict[str, Any]] = packaged_table("web/demo/people.toml")["person"]
    return people


def _details(person: dict[str, Any], day: date) -> PatientDetails:
    born = day - timedelta(days=round((person["age_years"] + 0.5) * _DAYS_A_YEAR))
    return PatientDetails(
        number=person["number"], label=person["label"], birth_date=born, sex=Sex(person["sex"])
    )


def _examine(hands: _Hands, patient: int, visit: dict[str, Any]) -> None:
    protocol = load_protocol()
    sides = tuple(map(Side, visit["complaint"]))
    details = VisitDetails(day=hands.day, setting=Setting(visit["setting"]), complaint=sides)
    made = begin_visit(hands.actor, patient, details, now=hands.now)
    begun = line_of(hands.actor, made).version
    found = changes_of(visit["findings"], protocol)
    looked_at = ({"change": "mark_normal", "position": each} for each in visit.get("normal", ()))
    hands.write(
        made, [*context_changes(visit), *image_changes(visit, hands.day), *found, *looked_at], base=begun
    )
    if unseen := visit.get("unseen"):
        other = _Hands(replace(hands.actor, device="ward-tablet"), hands.day)
        other.write(made, changes_of(unseen, protocol), base=begun)
    keep_pictures(hands.actor, made, visit.get("pictures", ()), now=hands.now)
    if visit.get("signed"):
        _sign(hands, made)
    if reason := visit.get("amended"):
        amend(hands.actor, made, reason, now=hands.now)
        version = line_of(hands.actor, made).version
        hands.write(made, changes_of(visit["after"], protocol), base=version)
        _sign(hands, made)
    for found in visit.get("found_later", ()):
        later = replace(hands, day=hands.day + timedelta(days=found["days_after"]))
        stated = {name: value for name, value in found.items() if name != "days_after"}
        confirm(hands.actor, made, {**stated, "on": str(later.day)}, today=later.day, now=later.now)


def _sign(hands: _Hands, visit: int) -> None:
    version = line_of(hands.actor, visit).version
    sign(hands.actor, visit, version=version, addressee="", today=hands.day, now=hands.now)
