"""Forecast JSON: lists of times with values and units beside them."""

from __future__ import annotations

from scheduling.weather.readers.json_series.columns import timed_column
from scheduling.weather.readers.json_series.document import parse_document
from scheduling.weather.readers.json_series.issued import issue_time
from scheduling.weather.readers.report import Reading, ReadRefused
from scheduling.weather.readers.timed import reading_of
from scheduling.weather.recipe import Recipe


def read_json(data: bytes, recipe: Recipe) -> Reading:
    """Read forecast or observation JSON into series on one UTC grid, the finest step of the file.

    Columns and times are paths (see `paths.py`). Instants at longer steps than the grid's are flagged COARSE;
    an interval stands for each step inside it. Raises ReadRefused (a ValueError) with item, value and cure.
    """
    if not recipe.time_columns or not recipe.time_format:
        raise ReadRefused("time_columns and time_format: state the path of the time and how it is written")
    document = parse_document(data, recipe.encoding)
    columns = [timed_column(document, one, recipe) for one in recipe.columns]
    return reading_of(columns, recipe, issued_at=issue_time(document))
