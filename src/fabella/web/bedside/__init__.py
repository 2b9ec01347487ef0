"""The examination as scripts at the bedside need it: what may be found, and what it is held against."""
