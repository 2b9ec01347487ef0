"""Who acts: everything the store needs to know of a person before it shows or keeps anything."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from fabella.record import Writer


class Role(StrEnum):
    """What an account is for; one may have several."""

    CLINICIAN = "clinician"
    TEACHER = "teacher"
    EXAMINER = "examiner"
    STUDENT = "student"
    ADMINISTRATOR = "administrator"


@dataclass(frozen=True, slots=True, kw_only=True)
class Actor:
    """A person at a device.

    Parameters
    ----------
    name
        The name of the account, by which entries and the trail know the person.
    shown
        The name as it stands in letters.
    service
        The service whose patients a clinician may see.
    device
        Of the browser or program, from its first visit on.
    """

    name: str
    shown: str
    roles: frozenset[Role]
    service: str
    device: str

    @property
    def writer(self) -> Writer:
        """The person as the sheet of an examination knows them."""
        return Writer(author=self.name, device=self.device)
