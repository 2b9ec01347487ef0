"""A small clinic of invented people, to explore."""
