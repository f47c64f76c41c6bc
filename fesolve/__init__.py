"""fesolve: where a short wooden part splits, what it takes, and whether the hand calculation agrees.

Public names are loaded when first used, so that ``import fesolve`` stays light.

>>> import fesolve
>>> result = fesolve.check(fesolve.read_part("meshes/log_stop.toml"))  # doctest: +SKIP
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .analysis import Result, check, check_file
    from .errors import (
        ExtensionError,
        FesolveError,
        FreeMotionError,
        InputError,
        MissingLibraryError,
        SolveError,
    )
    from .explore.compare import Compare, compare
    from .explore.find import Found, find
    from .explore.least import Least, least
    from .explore.sample import sample
    from .explore.sweep import Sweep, sweep
    from .fem.model import PlaneModel
    from .fem.solution import Solution
    from .judge.further import Mode
    from .judge.verdict import Verdict
    from .mesh.mesh import Mesh
    from .part.model import Part
    from .part.read import part_from, read_part
    from .wood.model import Wood
    from .wood.orthotropic import OrthotropicPlane
    from .wood.species import make_wood

_HOME = {
    "Result": "analysis",
    "check": "analysis",
    "check_file": "analysis",
    "ExtensionError": "errors",
    "FesolveError": "errors",
    "FreeMotionError": "errors",
    "InputError": "errors",
    "MissingLibraryError": "errors",
    "SolveError": "errors",
    "Compare": "explore.compare",
    "compare": "explore.compare",
    "Sweep": "explore.sweep",
    "sweep": "explore.sweep",
    "sample": "explore.sample",
    "Found": "explore.find",
    "find": "explore.find",
    "Least": "explore.least",
    "least": "explore.least",
    "PlaneModel": "fem.model",
    "Solution": "fem.solution",
    "Mode": "judge.further",
    "Verdict": "judge.verdict",
    "Mesh": "mesh.mesh",
    "Part": "part.model",
    "part_from": "part.read",
    "read_part": "part.read",
    "Wood": "wood.model",
    "OrthotropicPlane": "wood.orthotropic",
    "make_wood": "extensions",
}

__all__ = [
    "Compare",
    "ExtensionError",
    "FesolveError",
    "Found",
    "FreeMotionError",
    "InputError",
    "Least",
    "Mesh",
    "MissingLibraryError",
    "Mode",
    "OrthotropicPlane",
    "Part",
    "PlaneModel",
    "Result",
    "Solution",
    "SolveError",
    "Sweep",
    "Verdict",
    "Wood",
    "check",
    "check_file",
    "compare",
    "find",
    "least",
    "make_wood",
    "part_from",
    "read_part",
    "sample",
    "sweep",
]


def __getattr__(name: str) -> object:
    if name not in _HOME:
        raise AttributeError(f"module 'fesolve' has no attribute '{name}'")
    value = getattr(import_module(f".{_HOME[name]}", __name__), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
