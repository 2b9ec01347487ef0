"""Databases encrypted as whole files, and the key that opens them; also the engine's name for them."""

from fabella.store.sealed.key import DataKey

__all__ = ["DataKey"]
