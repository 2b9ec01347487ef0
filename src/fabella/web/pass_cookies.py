"""Signed cookies by which a browser bears a pass instead of an account."""

from __future__ import annotations

from django.http import HttpResponse


def put_pass(response: HttpResponse, name: str, value: str, *, kept_s: int, encrypted: bool) -> None:
    """Let a browser bear a pass, in the place of any other of that name."""
    response.set_signed_cookie(
        name, value, salt=name, max_age=kept_s, httponly=True, samesite="Strict", secure=encrypted
    )


def drop_pass(response: HttpResponse, name: str) -> None:
    """Let a browser forget its pass."""
    response.delete_cookie(name, samesite="Strict")
