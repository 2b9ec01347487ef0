"""Exams: stations, days, marks and results of candidates, in a database of their own; no patient."""
