"""A verdict and a wood as HTML for notebooks: the words and figures of the terminal.

One piece of HTML without scripts, styles of a page, pictures or anything from elsewhere. Text takes the notebook's own
colour and lies on its own ground, so that it is read in light and in dark; every text is escaped.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

from ..judge.verdict import Verdict
from ..units import Formatter
from ..wood.model import Wood
from .terminal import MODE_HEAD, about, brought, is_bad, mode_cells
from .words import amount_text, holds, story

Cells = Sequence[str]

LINE = "border-bottom:1px solid rgba(128,128,128,.35)"
CELL = f"padding:.15em .9em .15em 0;text-align:left;vertical-align:top;{LINE}"
# readable on white and on black alike (contrast above 3 on both); the words say the same
GOOD, BAD, BETWEEN = "#2f8f4e", "#d0463b", "#b8860b"


def verdict_html(verdict: Verdict, formatter: Formatter | None = None) -> str:
    """A verdict as HTML: its sentences, what it takes, what could break it, what others brought, and the cautions.

    Parameters
    ----------
    verdict : Verdict
    formatter : Formatter, optional
        Puts numbers in the reader's units; SI unless given.

    Returns
    -------
    str
        One ``<div>``.
    """
    shown = formatter or Formatter("si")
    headline, *lines = story(verdict, shown)
    first, *more = verdict.cautions or ("",)
    pieces = [
        f'<p style="margin:0 0 .4em"><b>{escape(verdict.part.title)}</b></p>',
        f'<p style="margin:0 0 .6em;padding-left:.7em;border-left:.4em solid {_colour(verdict)};'
        f'font-weight:bold">{escape(headline.text)}</p>',
        _pairs((line.label, line.text) for line in lines),
        _table("What it takes", ("", verdict.takes.of), _takes(verdict, shown)),
        _table("What could break it", MODE_HEAD, mode_cells(verdict, shown)),
        _list("From other packages", brought(verdict)),
        f'<p style="margin:.6em 0">{escape(first)}</p>' if first else "",
        _folded(f"{len(more)} more cautions", more),
        f'<p style="margin:.6em 0 0;opacity:.75">{escape(about(verdict))}</p>',
    ]
    return _whole(pieces)


def wood_html(wood: Wood, formatter: Formatter | None = None) -> str:
    """A wood as HTML: each value with what it stands for, its source and its status, and what stands in.

    Parameters
    ----------
    wood : Wood
    formatter : Formatter, optional
        Puts numbers in the reader's units; SI unless given.

    Returns
    -------
    str
        One ``<div>``.
    """
    shown = formatter or Formatter("si")
    face = f", {wood.face}" if wood.face else ""
    title = f"{wood.name} ({wood.group}{face}), basis {wood.basis}"
    rows = [*_constants(wood, shown), *_strengths(wood, shown), *_energies(wood, shown), *_others(wood, shown)]
    sources = {name: number for number, name in enumerate(dict.fromkeys(row[-1] for row in rows), start=1)}
    numbered = [(*row[:-1], f"[{sources[row[-1]]}]") for row in rows]
    said = [f"[{number}] {name}" for name, number in sources.items()]
    pieces = [
        _table(title, ("", "value", "", "status", "source"), numbered),
        _list("Sources", said),
        _list("What stands in", wood.notes),
    ]
    return _whole(pieces)


def _colour(verdict: Verdict) -> str:
    return GOOD if holds(verdict) else BAD if is_bad(verdict) else BETWEEN


def _takes(verdict: Verdict, formatter: Formatter) -> list[tuple[str, ...]]:
    """Low, best, high, and what the answer goes by."""
    found = verdict.takes
    named = {"low": found.low, "best": found.best, "high": found.high, "the answer goes by": found.judged}
    return [(name, amount_text(value, verdict, formatter)) for name, value in named.items() if value is not None]


def _constants(wood: Wood, formatter: Formatter) -> list[tuple[str, ...]]:
    plane, said = wood.plane, (wood.elastic_status, wood.elastic_source)
    moduli = {"E_0": plane.E_0, "E_90": plane.E_90, "G": plane.G}
    rows: list[tuple[str, ...]] = [(name, formatter.stress(value), "mean", *said) for name, value in moduli.items()]
    return [*rows, ("nu_0_90", f"{plane.nu_0_90:.3g}", "mean", *said)]


def _strengths(wood: Wood, formatter: Formatter) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = []
    for name, one in wood.strengths.items():
        scatter = f"mean {formatter.stress(one.mean)}, CoV {100 * one.cov:.0f} %"
        rows.append((name.replace("_", " "), formatter.stress(one.value), scatter, one.status, one.source))
    return rows


def _energies(wood: Wood, formatter: Formatter) -> list[tuple[str, ...]]:
    """The ends of the band of energies; the splitting length where that stands for them."""
    length = wood.fracture.split_length
    if length is not None:
        return [("splitting length", formatter.length(length), "", wood.fracture.status, wood.fracture.source)]
    rows: list[tuple[str, ...]] = []
    for name, one in wood.fracture.energies.items():
        rows.append((f"{name} low", formatter.energy(one.low), "", one.low_status, one.low_source))
        rows.append((f"{name} high", formatter.energy(one.high), "", one.high_status, one.high_source))
    return rows


def _others(wood: Wood, formatter: Formatter) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = []
    if wood.density is not None:
        rows.append(("density", formatter.density(wood.density), "", wood.density_status, wood.density_source))
    if wood.shrinkage is not None:
        one = wood.shrinkage
        for name, value in (("along", one.along), ("across", one.across)):
            rows.append((f"shrinkage {name}", f"{100 * value:.3g} %", "for 1 % of moisture", one.status, one.source))
    return rows


# ---- HTML


def _whole(pieces: Iterable[str]) -> str:
    return f'<div style="max-width:64em;line-height:1.4">{"".join(pieces)}</div>'


def _table(title: str, head: Cells, rows: Iterable[Cells]) -> str:
    """A table with its title above; nothing without rows."""
    body = "".join(f"<tr>{_cells('td', row)}</tr>" for row in rows)
    if not body:
        return ""
    return (
        f'<p style="margin:.8em 0 .2em;font-weight:bold">{escape(title)}</p>'
        f'<table style="border-collapse:collapse;background:transparent"><thead><tr>{_cells("th", head)}</tr></thead>'
        f"<tbody>{body}</tbody></table>"
    )


def _cells(tag: str, row: Cells) -> str:
    style = f"{CELL};background:transparent" + (";font-weight:normal;opacity:.75" if tag == "th" else "")
    return "".join(f'<{tag} style="{style}">{escape(cell)}</{tag}>' for cell in row)


def _pairs(rows: Iterable[tuple[str, str]]) -> str:
    """Sentences with their labels."""
    head = f'<th scope="row" style="{CELL};background:transparent;white-space:nowrap">'
    body = "".join(
        f'<tr>{head}{escape(label)}</th><td style="{CELL};background:transparent">{escape(text)}</td></tr>'
        for label, text in rows
    )
    return (
        f'<table style="border-collapse:collapse;background:transparent"><tbody>{body}</tbody></table>' if body else ""
    )


def _list(title: str, texts: Sequence[str]) -> str:
    if not texts:
        return ""
    return f'<p style="margin:.8em 0 .2em;font-weight:bold">{escape(title)}</p>{_items(texts)}'


def _folded(title: str, texts: Sequence[str]) -> str:
    return f"<details><summary>{escape(title)}</summary>{_items(texts)}</details>" if texts else ""


def _items(texts: Sequence[str]) -> str:
    return f'<ul style="margin:.2em 0">{"".join(f"<li>{escape(text)}</li>" for text in texts)}</ul>'
