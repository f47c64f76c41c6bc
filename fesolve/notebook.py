"""HTML forms for notebooks, made by the room that shows things and only when a notebook asks.

A verdict and a wood may reach a notebook on any way, so they answer by themselves; `view` knows them
and not they it, hence the import by name when it is asked for: nothing is computed from it, and no wall falls.
"""

from __future__ import annotations

from importlib import import_module


def html_of(kind: str, thing: object) -> str:
    """The HTML form of a thing, by the function ``<kind>_html`` of `fesolve.view.html`."""
    form: str = getattr(import_module("fesolve.view.html"), f"{kind}_html")(thing)
    return form
