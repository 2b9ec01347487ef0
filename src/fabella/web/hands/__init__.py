"""Own hands: every signed visit worked up as it was signed, and held against what was found later."""
