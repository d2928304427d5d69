"""A column that says which mast or turbine a row is about, where a file holds several."""

from __future__ import annotations

from collections.abc import Sequence

_MOST_KEYS = 300
#: Rows must repeat times at least this often without the key, and this seldom with it.
_REPEATS = 0.2
_LEFT = 0.1


def key_column(rows: Sequence[Sequence[str]], stamps: Sequence[str], free: Sequence[int]) -> tuple[int, tuple[str, ...]] | None:
    """(position, texts) of the column that tells rows of the same time apart; None where no time is repeated much.

    `free` are the columns that hold neither time nor a variable.
    """
    repeated = len(stamps) - len(set(stamps))
    if repeated < _REPEATS * len(stamps):
        return None
    best: tuple[int, int] | None = None
    for at in free:
        texts = [row[at].strip() for row in rows]
        if 1 < len(set(texts)) <= _MOST_KEYS:
            left = len(stamps) - len(set(zip(texts, stamps, strict=True)))
            if left <= _LEFT * repeated and (best is None or left < best[0]):
                best = (left, at)
    if best is None:
        return None
    return best[1], tuple(sorted({row[best[1]].strip() for row in rows}))
