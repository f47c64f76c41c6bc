"""The flow as a whole, where no room tests it."""

from pathlib import Path

import pytest

import fesolve
from fesolve.errors import InputError

WEB_BEAM = Path(__file__).parent / "mesh" / "web_beam.toml"


def test_a_verdict_by_region_is_refused():
    with pytest.raises(InputError, match=r"a verdict by region is not supported in this version.*\(region\.1\)"):
        fesolve.check_file(WEB_BEAM)
