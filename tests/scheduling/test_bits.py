from __future__ import annotations

import numpy as np
import pytest

from scheduling.bits import pack_members, unpack_members


@pytest.mark.parametrize("shape", [(1, 1), (3, 7), (20, 392)])
def test_what_was_packed_comes_back(shape: tuple[int, int]) -> None:
    table = np.random.default_rng(1).random(shape) < 0.5
    assert np.array_equal(unpack_members(pack_members(table), *shape), table)


def test_a_text_too_short_is_refused() -> None:
    with pytest.raises(ValueError, match="expected 4 members x 40 slots"):
        unpack_members(pack_members(np.ones((1, 8), dtype=bool)), 4, 40)
