"""Where the large open data files lie that are too big, or not ours, to keep in the project."""

from __future__ import annotations

from pathlib import Path

import pytest

SHARED = Path(__file__).resolve().parents[2] / "shared"


def shared_path(relative: str) -> Path:
    """The path of a file or folder under `shared/` beside the checkout; the calling test is skipped when it is not here."""
    path = SHARED / relative
    if not path.exists():
        pytest.skip(f"shared/{relative} is not here; put the folder of open data beside the checkout to run this")
    return path
