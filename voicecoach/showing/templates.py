"""Pages made of the templates in `pages`. What is put into one is escaped and on one line."""

from __future__ import annotations

from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from voicecoach.showing.marks import harmless


def filled(name: str, **values: Any) -> str:
    """The page of that template with these values."""
    return _templates().get_template(name).render(values)


@cache
def _templates() -> Environment:
    return Environment(
        loader=PackageLoader("voicecoach.showing", "pages"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_plain,
    )


def _plain(value: Any) -> Any:
    """Text made harmless; what is HTML already, and what is no text, as it is."""
    return harmless(value) if isinstance(value, str) and not hasattr(value, "__html__") else value
