"""Files as they arrive to plain bytes: gzip, a zip with one clear member, and early refusal of what is too large."""

from __future__ import annotations

import gzip
import io
import zipfile
import zlib
from fnmatch import fnmatchcase
from typing import IO

from scheduling.weather.readers.kinds import AnswerNeeded
from scheduling.weather.readers.report import ReadRefused
from scheduling.weather.recipe import Question

#: Files beyond this, packed or unpacked, are refused before they are read.
MAX_BYTES = 200_000_000
_CHUNK = 1 << 20
_MANY = 1_000
#: Members that describe a download and hold no weather.
_BESIDE = ("readme*", "licen[cs]e*", "copying*")


def unpacked(data: bytes, member: str = "") -> tuple[bytes, str]:
    """(plain bytes, name of the zip's member or "").

    `member` is the name of the member wanted, or a pattern with "*". Raises AnswerNeeded when a zip holds
    several files and no member is named; ReadRefused for what is empty, damaged or too large.
    """
    check_size(len(data))
    try:
        if data.startswith(b"\x1f\x8b"):
            return _bounded(gzip.GzipFile(fileobj=io.BytesIO(data)), "gzip file"), ""
        if data.startswith(b"PK\x03\x04"):
            with zipfile.ZipFile(io.BytesIO(data)) as archive:
                chosen = _chosen(archive, member)
                check_size(chosen.file_size, f"member {chosen.filename}")
                with archive.open(chosen) as opened:
                    return _bounded(opened, f"member {chosen.filename}"), chosen.filename
    except (OSError, EOFError, zipfile.BadZipFile, zlib.error, RuntimeError, NotImplementedError) as error:
        raise ReadRefused(f"The packed file cannot be opened ({error}); pack it again without a password.") from error
    return data, ""


def check_size(size: int, what: str = "file") -> None:
    """Raises ReadRefused when a file of so many bytes is too large to be read."""
    if size > MAX_BYTES:
        raise ReadRefused(f"The {what} has {size:,} bytes; at most {MAX_BYTES:,} are read. Split it by year.")


def _bounded(packed: IO[bytes] | gzip.GzipFile, what: str) -> bytes:
    """All of it, or a refusal as soon as it passes the bound, whatever size it declares."""
    parts, size = [], 0
    while part := packed.read(_CHUNK):
        size += len(part)
        if size > MAX_BYTES:
            raise ReadRefused(f"The {what} unpacks to more than {MAX_BYTES:,} bytes, which is the most that is read.")
        parts.append(part)
    return b"".join(parts)


def _chosen(archive: zipfile.ZipFile, member: str) -> zipfile.ZipInfo:
    if len(archive.infolist()) > _MANY:
        raise ReadRefused(f"The zip holds {len(archive.infolist()):,} files; at most {_MANY:,} are looked at. Pack one alone.")
    files = [one for one in archive.infolist() if not one.is_dir() and not _hidden(one.filename)]
    found = [one for one in files if one.filename == member] or [one for one in files if fnmatchcase(one.filename, member)]
    if not member:
        found = [one for one in files if not _beside(one.filename)]
    if len(found) == 1:
        return found[0]
    if not files:
        raise ReadRefused("The zip holds no file.")
    names = tuple(one.filename for one in files)
    reason = f"{member!r} names {len(found)} of them" if member else "which is the one?"
    raise AnswerNeeded(Question("member", f"The zip holds {len(names)} files, {reason}", names))


def _hidden(name: str) -> bool:
    return name.startswith("__MACOSX/") or name.rpartition("/")[2].startswith(".")


def _beside(name: str) -> bool:
    last = name.rpartition("/")[2].lower()
    return any(fnmatchcase(last, pattern) for pattern in _BESIDE)
