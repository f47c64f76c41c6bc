"""Reads README, DEVELOPERS and docs/: their code blocks, links and headings."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
PAGES = tuple(
    path.relative_to(ROOT).as_posix()
    for path in (ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").glob("*.md")))
)

_BLOCK = re.compile(r"^(?:<!-- (?P<mark>[^\n]*?) -->\n)?```(?P<info>[^\n]*)\n(?P<text>.*?)^```$", re.M | re.S)
_LINK = re.compile(r"!?\[[^\]]*\]\(([^)\s]+)\)")


@dataclass(frozen=True)
class Block:
    """A fenced code block; `mark` is the HTML comment right above it: "output: ...", "file: ...", "tests"."""

    page: str
    number: int
    language: str
    kind: str
    mark: str
    text: str

    def __str__(self) -> str:
        return f"{self.page} {self.number}"


def read(page: str) -> str:
    return (ROOT / page).read_text(encoding="utf-8")


def blocks(page: str) -> list[Block]:
    found = []
    for number, match in enumerate(_BLOCK.finditer(read(page)), start=1):
        language, _, kind = match["info"].partition(" ")
        found.append(Block(page, number, language, kind, match["mark"] or "", match["text"]))
    return found


ALL_BLOCKS = tuple(block for page in PAGES for block in blocks(page))


def marked(page: str, mark: str) -> str:
    """The text of the block below a mark."""
    (block,) = (block for block in blocks(page) if block.mark == mark)
    return block.text.strip()


def prose(page: str) -> str:
    return _BLOCK.sub("", read(page))


def links(page: str) -> list[str]:
    return _LINK.findall(prose(page))


def anchors(page: str) -> set[str]:
    """Anchors of headings as GitHub makes them."""
    heads = re.findall(r"^#+ (.+)$", prose(page), re.M)
    return {re.sub(r"[^\w\- ]", "", head.lower()).replace(" ", "-") for head in heads}
