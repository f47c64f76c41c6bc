"""A small part that checks in a moment: a cantilever with named dimensions."""

from __future__ import annotations

from parts import document

import fesolve

FIXED = [{"name": "wall", "kind": "fixed", "on": "edge D-A"}]


def cantilever(**more: object) -> fesolve.Part:
    """200 by 40 mm, 100 N across its free end; length, depth and push are named."""
    load = [{"name": "push", "on": "edge B-C", "force": ["0 N", "-push"]}]
    doc = document([(0, 0), (200, 0), (200, 40), (0, 40)], support=FIXED, load=load)
    for corner, at in zip(doc["outline"]["corners"], CORNERS, strict=True):
        corner["at"] = at
    doc["dimensions"] = {"length": "200 mm", "depth": "40 mm", "push": "100 N"}
    doc["mesh"] = {"refine_limit": 1}
    return fesolve.part_from({**doc, **more}, file="cantilever.toml")


CORNERS = (["0 mm", "0 mm"], ["length", "0 mm"], ["length", "depth"], ["0 mm", "depth"])
