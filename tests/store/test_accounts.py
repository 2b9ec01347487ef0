import pytest
from django.contrib.auth import authenticate

from fabella.errors import FabellaError, InputError
from fabella.store import Role
from fabella.store.accounts.keeping import (
    close_account,
    has_accounts,
    list_accounts,
    open_account,
    set_password,
)
from fabella.store.accounts.models import Account

pytestmark = pytest.mark.usefixtures("files")
PHRASE = "seven grey herons wade"


def enters(name: str, password: str) -> bool:
    """Whether name and password open the door."""
    return authenticate(None, username=name, password=password) is not None


def test_an_account_enters_with_its_password_only() -> None:
    """The right name and password enter; a wrong password, a wrong name and an empty one do not."""
    assert not has_accounts()
    open_account("ann", password=PHRASE, roles=[Role.CLINICIAN], shown="Ann Invented")
    assert has_accounts()
    assert enters("ann", PHRASE)
    assert not any((enters("ann", PHRASE + "s"), enters("ben", PHRASE), enters("ann", "")))


def test_a_password_is_kept_as_an_argon2_hash() -> None:
    """Nothing that is kept contains the password."""
    open_account("ann", password=PHRASE, roles=[Role.CLINICIAN])
    kept = Account.objects.get(name="ann").password
    assert kept.startswith("argon2$argon2id$")
    assert PHRASE not in kept


def test_an_account_has_its_roles_and_service_at_a_device() -> None:
    """An account may have several roles; who acts by it is known by them."""
    open_account("eve", password=PHRASE, roles=[Role.TEACHER, Role.EXAMINER], service="sports")
    actor = Account.objects.get(name="eve").at("desk")
    assert actor.roles == {Role.TEACHER, Role.EXAMINER}
    assert (actor.name, actor.shown, actor.service, actor.device) == ("eve", "eve", "sports", "desk")


def test_a_closed_account_does_not_enter() -> None:
    """Closing keeps the account in the list and shuts the door; a new password opens it again."""
    open_account("ann", password=PHRASE, roles=[Role.CLINICIAN])
    close_account("ann")
    assert not enters("ann", PHRASE)
    assert not has_accounts()
    assert [(line.name, line.is_open) for line in list_accounts()] == [("ann", False)]
    set_password("ann", PHRASE + " again")
    assert enters("ann", PHRASE + " again")


def test_everything_wrong_with_an_account_is_said_at_once() -> None:
    """Name, password and roles are refused together, each with its remedy."""
    with pytest.raises(InputError) as refused:
        open_account("Ann!", password="password" + "1", roles=[])
    assert [each.place for each in refused.value.problems] == ["name", "password", "password", "role"]


def test_a_name_is_taken_once() -> None:
    """A second account of the same name is refused."""
    open_account("ann", password=PHRASE, roles=[Role.CLINICIAN])
    with pytest.raises(InputError, match="name: 'ann' is taken"):
        open_account("ann", password=PHRASE, roles=[Role.STUDENT])


def test_an_unknown_account_is_refused_with_the_nearest_name() -> None:
    """A slip in a name is answered with the name that was probably meant."""
    open_account("annika", password=PHRASE, roles=[Role.CLINICIAN])
    with pytest.raises(FabellaError, match="did you mean 'annika'"):
        close_account("anika")
