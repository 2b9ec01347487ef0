"""The accounts: who may enter, and as what."""
