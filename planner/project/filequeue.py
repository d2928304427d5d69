"""The queue that needs no server: kombu's filesystem transport, with messages that appear and vanish in one step.

kombu writes a message in place and moves it to the system's temporary folder to take it. A worker that looks at the wrong
moment reads half a message, and between two file systems the move is a copy that two workers can both make.
"""

from __future__ import annotations

import os
import time
import uuid
from pathlib import Path
from queue import Empty
from typing import Any

from kombu.exceptions import ChannelError
from kombu.transport import filesystem
from kombu.utils.json import dumps, loads


class Channel(filesystem.Channel):
    """One message is one file `<ns>_<uuid>.<queue>.msg`; a rename puts it there and a rename takes it away."""

    def _put(self, queue: str, message: dict[str, Any], **kwargs: Any) -> None:  # type: ignore[override]
        folder = Path(self.data_folder_out)
        name = f"{time.time_ns():020d}_{uuid.uuid4().hex}"
        hidden = folder / f".{name}.new"
        try:
            hidden.write_text(dumps(message), encoding="utf-8")
            hidden.rename(folder / f"{name}.{queue}.msg")
        except OSError as error:
            raise ChannelError(f"Cannot add a message to {folder}") from error

    def _get(self, queue: str, timeout: float | None = None) -> dict[str, Any]:
        folder = Path(self.data_folder_in)
        for name in sorted(os.listdir(folder)):
            if name.partition(".")[2] == f"{queue}.msg":
                payload = _take(folder, name)
                if payload is not None:
                    return payload
        raise Empty


def _take(folder: Path, name: str) -> dict[str, Any] | None:
    """The message, or None if somebody else was faster."""
    taken = folder / f".{name}.taken"
    try:
        (folder / name).rename(taken)
    except OSError:
        return None
    text = taken.read_text(encoding="utf-8")
    taken.unlink()
    payload: dict[str, Any] = loads(text)
    return payload


class Transport(filesystem.Transport):
    """kombu's filesystem transport with our channel."""

    Channel = Channel
