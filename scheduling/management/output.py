"""A command's standard output belongs to its result."""

from __future__ import annotations

import contextlib
import ctypes
import os
from collections.abc import Iterator


@contextlib.contextmanager
def libraries_to_stderr() -> Iterator[None]:
    """HiGHS names itself on the process's standard output whatever its options say; ours belongs to the result."""
    kept = os.dup(1)
    os.dup2(2, 1)
    try:
        yield
    finally:
        ctypes.CDLL(None).fflush(None)
        os.dup2(kept, 1)
        os.close(kept)
