"""Templates of drawings."""

from __future__ import annotations

from functools import cache
from importlib.resources import files

from jinja2 import Environment, StrictUndefined, Template


@cache
def svg_template(room: str, name: str) -> Template:
    """Return the template of a drawing, ``NAME.svg.jinja`` of a room; a name it does not know is an error."""
    environment = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    return environment.from_string(files(room).joinpath(f"{name}.svg.jinja").read_text("utf-8"))
