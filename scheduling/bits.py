"""Truth tables of members and slots as short texts for a stored problem."""

from __future__ import annotations

import base64

import numpy as np
from numpy.typing import NDArray


def pack_members(workable: NDArray[np.bool_]) -> str:
    """bool [members, slots] -> base64 of the bits, row after row."""
    return base64.b64encode(np.packbits(workable.ravel()).tobytes()).decode("ascii")


def unpack_members(packed: str, members: int, slots: int) -> NDArray[np.bool_]:
    """The table that `pack_members` packed. Raises ValueError when the text has another length or is no base64."""
    bits = np.unpackbits(np.frombuffer(base64.b64decode(packed, validate=True), dtype=np.uint8))
    if len(bits) // 8 != -(-members * slots // 8):
        raise ValueError(f"workable holds {len(bits)} bits, expected {members} members x {slots} slots")
    return bits[: members * slots].reshape(members, slots).astype(bool)
