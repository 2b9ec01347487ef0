"""Practice: the model of the knee run forwards, so that students meet knees a volunteer cannot show."""

from fabella.teach.hidden import Hidden
from fabella.teach.patient import draw_patient
from fabella.teach.recipe import Recipe, read_recipe, write_recipe
from fabella.teach.wish import recipe_with

__all__ = ["Hidden", "Recipe", "draw_patient", "read_recipe", "recipe_with", "write_recipe"]
