"""Examination of both knees: findings in; probabilities, next steps and a letter out."""

__version__ = "0.1.0"
