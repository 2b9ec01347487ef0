"""Accounts: a name, a password as the framework keeps it, roles and a service."""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models

from fabella.store.actor import Actor, Role


class Accounts(BaseUserManager["Account"]):
    """All accounts."""

    def open(
        self,
        name: str,
        *,
        shown: str,
        password: str | None,
        roles: Iterable[Role],
        service: str,
        sign_on: str | None = None,
    ) -> Account:
        """Open and return an account; its password is kept as an Argon2 hash, None lets no password enter."""
        account = self.model(
            name=name,
            shown=shown,
            service=service,
            roles_text=" ".join(sorted({*map(str, roles)})),
            sign_on=sign_on,
        )
        account.set_password(password)
        account.full_clean()
        account.save(using=self._db)
        return account


class Account(AbstractBaseUser):
    """A person who may enter."""

    id: int
    name: models.CharField[str, str] = models.CharField(max_length=80, unique=True)
    shown: models.CharField[str, str] = models.CharField(max_length=120)
    service: models.CharField[str, str] = models.CharField(max_length=80)
    roles_text: models.CharField[str, str] = models.CharField(max_length=120)
    is_active: models.BooleanField[bool, bool] = models.BooleanField(default=True)
    # What the hospital's sign-on calls this person; NULL, of which there may be many, when it has no say.
    sign_on: models.CharField[str | None, str | None] = models.CharField(
        max_length=255, unique=True, null=True, blank=True
    )

    objects: ClassVar[Accounts] = Accounts()

    USERNAME_FIELD = "name"
    REQUIRED_FIELDS: ClassVar[list[str]] = []

    def __str__(self) -> str:
        """Return the name of the account."""
        return self.name

    @property
    def roles(self) -> frozenset[Role]:
        """What the account is for."""
        return frozenset(Role(each) for each in self.roles_text.split())

    def at(self, device: str) -> Actor:
        """Return the person at a device."""
        return Actor(name=self.name, shown=self.shown, roles=self.roles, service=self.service, device=device)
