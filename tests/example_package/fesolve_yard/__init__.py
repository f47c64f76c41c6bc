"""The yard's own wood for fesolve."""

import csv
from importlib.resources import files


def woods() -> list[dict[str, str]]:
    """The rows of woods.csv, one a species."""
    with files(__package__).joinpath("woods.csv").open(encoding="utf-8") as stream:
        return list(csv.DictReader(stream))
