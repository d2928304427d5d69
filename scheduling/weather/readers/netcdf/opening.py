"""Bytes to a dataset, with xarray loaded only when a NetCDF file is there to be read."""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from scheduling.weather.readers.report import ReadRefused

if TYPE_CHECKING:
    import xarray

HDF5, CLASSIC, CLASSIC_64_DATA, GRIB = b"\x89HDF\r\n\x1a\n", (b"CDF\x01", b"CDF\x02"), b"CDF\x05", b"GRIB"
#: A chunk unpacks whole: a larger one is no weather but a bomb.
MAX_CHUNK_BYTES = 500_000_000


def is_gridded(data: bytes) -> bool:
    """Whether the first bytes are those of a NetCDF or GRIB file."""
    return data.startswith((HDF5, *CLASSIC, CLASSIC_64_DATA, GRIB))


@contextmanager
def opened(data: bytes) -> Iterator[xarray.Dataset]:
    """The dataset of `open_dataset`, closed at the end; values are read when asked for, so damage may show as late."""
    with open_dataset(data) as dataset:
        try:
            yield dataset
        except (OSError, RuntimeError, OverflowError, MemoryError) as error:
            raise ReadRefused(_damaged(error)) from error


def open_dataset(data: bytes) -> xarray.Dataset:
    """The dataset, packed values unpacked and fill values NaN, times left as numbers.

    Raises ReadRefused for GRIB, another kind of file, a damaged one, or when xarray is not installed.
    """
    engine = _engine(data)
    try:
        import xarray

        __import__(engine)
    except ImportError as error:
        raise ReadRefused(
            f"NetCDF needs xarray and {engine} ({error.name} is missing): "
            "pip install -r scheduling/weather/readers/netcdf/requirements.txt"
        ) from None
    try:
        dataset = xarray.open_dataset(io.BytesIO(data), engine=engine, decode_times=False)
    except Exception as error:
        # Whatever a damaged file makes the libraries raise, the user's answer is one sentence.
        raise ReadRefused(_damaged(error)) from error
    _check_chunks(dataset)
    return dataset


def _engine(data: bytes) -> str:
    if data.startswith(GRIB):
        raise ReadRefused("GRIB is not read: convert it to NetCDF, with the tools of the weather service it comes from.")
    if data.startswith(CLASSIC_64_DATA):
        raise ReadRefused("This kind of NetCDF (64-bit data) is not read: convert it to NetCDF-4.")
    if data.startswith(HDF5):
        return "h5netcdf"
    if data.startswith(CLASSIC):
        return "scipy"
    raise ReadRefused("The first bytes are not those of a NetCDF file; check what was fetched.")


def _check_chunks(dataset: xarray.Dataset) -> None:
    for name, one in dataset.variables.items():
        chunks = one.encoding.get("chunksizes") or ()
        size = one.dtype.itemsize
        for length in chunks:
            size *= int(length)
        if size > MAX_CHUNK_BYTES:
            raise ReadRefused(f"{name}: it is packed in pieces of {size:,} bytes; cut the file to the site first.")


def _damaged(error: Exception) -> str:
    first = (str(error).splitlines() or [type(error).__name__])[0][:120]
    return f"The file is no NetCDF that can be read ({first}); fetch or export it again."
