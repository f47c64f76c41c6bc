"""Write docs/verification.md from results made now: `python tests/reference/write_table.py`."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from cases import FAMILIES, rows_of
from table import PAGE, page


def main() -> int:
    rows = []
    for case in FAMILIES:
        made = rows_of(case)
        rows += made
        missed = [row.quantity for row in made if not row.met]
        print(f"{case}: {len(made)} rows" + "".join(f"\n  not met: {quantity}" for quantity in missed), flush=True)
    PAGE.write_text(page(rows), encoding="utf-8")
    return int(any(not row.met for row in rows))


if __name__ == "__main__":
    sys.exit(main())
