"""What reports are composed of: sections of sentences and tables, laid out elsewhere."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Table:
    """Rows under a header; the first column is text, the others are numbers or text."""

    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Items:
    """Sentences that belong together, one a line."""

    sentences: tuple[str, ...]


Block = str | Table | Items


@dataclass(frozen=True)
class Section:
    """A heading and what stands under it."""

    title: str
    blocks: tuple[Block, ...]
