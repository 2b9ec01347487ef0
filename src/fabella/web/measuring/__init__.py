"""Measuring on a picture at the bedside: the picture before it is kept, what is drawn on it, and stated."""
