"""Messages in files appear whole and are taken once, however many read and write at a time.

The fault it prevents was found by reading kombu's filesystem transport: it opens the message under its final name, then writes.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from queue import Empty

import pytest
from kombu import Connection

import planner.project.celery  # noqa: F401  (registers the transport)
from planner.project import filequeue


@pytest.fixture
def connection(tmp_path: Path) -> Iterator[Connection]:
    """A queue in an empty folder."""
    folder = tmp_path / "queue"
    folder.mkdir()
    options = {"data_folder_in": str(folder), "data_folder_out": str(folder), "control_folder": str(tmp_path / "control")}
    with Connection("filesystem://localhost", transport_options={**options, "polling_interval": 0.01}) as made:
        yield made


def folder_of(connection: Connection) -> Path:
    return Path(connection.transport_options["data_folder_in"])


def test_the_url_leads_to_our_transport(connection: Connection) -> None:
    assert isinstance(connection.default_channel, filequeue.Channel)


def test_messages_come_back_in_order_and_leave_nothing_behind(connection: Connection) -> None:
    channel = connection.default_channel
    for number in range(12):
        channel._put("work", {"number": number})
    assert [channel._get("work")["number"] for _ in range(12)] == list(range(12))
    assert os.listdir(folder_of(connection)) == []
    with pytest.raises(Empty):
        channel._get("work")


def test_a_message_of_another_queue_stays(connection: Connection) -> None:
    channel = connection.default_channel
    channel._put("other", {"number": 1})
    with pytest.raises(Empty):
        channel._get("work")
    assert channel._get("other") == {"number": 1}


def test_a_message_being_written_is_not_seen(connection: Connection) -> None:
    """The name under which it is written is none that a reader takes for a message."""
    (folder_of(connection) / ".00000000000000000001_a.new").write_text('{"half', encoding="utf-8")
    with pytest.raises(Empty):
        connection.default_channel._get("work")


def test_many_readers_take_each_message_once(connection: Connection) -> None:
    channel, count = connection.default_channel, 120

    def write(number: int) -> None:
        channel._put("work", {"number": number, "text": "x" * 20_000})

    def read(_: int) -> list[int]:
        got: list[int] = []
        while len(taken) < count:
            try:
                got.append(channel._get("work")["number"])
                taken.append(got[-1])
            except Empty:
                continue
        return got

    taken: list[int] = []
    with ThreadPoolExecutor(8) as pool:
        readers = [pool.submit(read, n) for n in range(4)]
        list(pool.map(write, range(count)))
        numbers = [number for reader in readers for number in reader.result(timeout=30)]
    assert Counter(numbers) == Counter(range(count))
