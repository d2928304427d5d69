"""What every test may ask for: the tiny farm, a frozen now, and the standing users."""

from __future__ import annotations

import gc
import os
import shutil
import uuid
from collections.abc import Iterator
from datetime import datetime

import hypothesis
import pytest
import time_machine
from django.conf import settings
from django.contrib.auth.models import User
from django.db import connection, connections

from tests import farm as rows
from tests.laid import laid_farm

# The same examples in every run, however busy the machine is.
hypothesis.settings.register_profile("lull", deadline=None, derandomize=True, suppress_health_check=list(hypothesis.HealthCheck))
hypothesis.settings.load_profile("lull")

DATABASE_FIXTURES = {"db", "transactional_db", "django_db_reset_sequences", "live_server"}


def pytest_addoption(parser: pytest.Parser) -> None:
    """The second run of tests/run.sh, on PostgreSQL, leaves out what touches no database."""
    parser.addoption("--only-database", action="store_true", help="only tests that touch the database, and none of the browser")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Deselect for --only-database. Long tests of commands of their own begin, or one core would wait for them at the end."""
    items.sort(key=lambda item: not item.get_closest_marker("worker") or _touches_database(item))
    if not config.getoption("--only-database"):
        return
    kept = [item for item in items if _touches_database(item) and not item.get_closest_marker("browser")]
    config.hook.pytest_deselected(items=[item for item in items if item not in kept])
    items[:] = kept


def _touches_database(item: pytest.Item) -> bool:
    return bool(item.get_closest_marker("django_db")) or bool(DATABASE_FIXTURES & set(getattr(item, "fixturenames", ())))


def pytest_runtest_setup(item: pytest.Item) -> None:
    """Tests that need a server say so by a mark; without it they are skipped with the reason."""
    if item.get_closest_marker("postgres") and connection.vendor != "postgresql":
        pytest.skip("needs PostgreSQL: set DATABASE_URL (tests/run.sh runs it in its second part)")
    if item.get_closest_marker("redis") and not settings.REDIS_URL:
        pytest.skip("needs Redis: set REDIS_URL (tests/run.sh runs it in its second part)")


@pytest.fixture(scope="session")
def django_db_keepdb(django_db_keepdb: bool) -> bool:
    """A copy of a migrated SQLite file is kept, and so not migrated again."""
    return django_db_keepdb or bool(migrated() and connection.vendor == "sqlite")


@pytest.fixture(scope="session")
def django_db_modify_db_settings(
    tmp_path_factory: pytest.TempPathFactory, django_db_modify_db_settings_parallel_suffix: None
) -> None:
    """SQLite in a file, as in real use: in memory, threads would share one lock and wait for nothing."""
    test = connections["default"].settings_dict["TEST"]
    if connection.vendor == "sqlite":
        test["NAME"] = str(tmp_path_factory.mktemp("database") / "test.sqlite3")
        if migrated():
            shutil.copyfile(migrated(), test["NAME"])
    elif migrated():
        test["TEMPLATE"] = migrated()


def migrated() -> str:
    """A database that tests/run.sh has migrated already, to be copied by each process: a file, or a name on the server."""
    return os.environ.get("LULL_TEST_MIGRATED", "")


@pytest.fixture(scope="session", autouse=True)
def own_cache() -> None:
    """Keys of our own in Redis: neither an earlier run nor the other process's tests answer for us."""
    settings.CACHES["default"]["KEY_PREFIX"] = f"test-{uuid.uuid4().hex}"


@pytest.hookimpl(trylast=True)
def pytest_collection_finish() -> None:
    """What is loaded by now stays: the collector need not look through it again and again."""
    gc.collect()
    gc.freeze()


@pytest.fixture(scope="session", autouse=True)
def quick_passwords() -> None:
    """Hashing passwords well takes a tenth of a second each; tests need no strength."""
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@pytest.fixture
def now() -> Iterator[datetime]:
    """Wednesday 10 June 2026, 06:00 UTC, and the clock stands still."""
    with time_machine.travel(rows.NOW, tick=False):
        yield rows.NOW


@pytest.fixture
def farm(db: None, now: datetime) -> rows.Farm:
    """The tiny farm of tests/farm.py; its clock stands still."""
    return laid_farm()


@pytest.fixture
def planner_user(farm: rows.Farm) -> User:
    """Planner at HILL."""
    return rows.build_user("planner", "planner", farm.hill)


@pytest.fixture
def lead_user(farm: rows.Farm) -> User:
    """Lead technician at HILL."""
    return rows.build_user("lead", "lead", farm.hill)


@pytest.fixture
def technician_user(farm: rows.Farm) -> User:
    """Technician at HILL: Ada."""
    user = rows.build_user("technician", "technician", farm.hill)
    farm.people["Ada"].user = user
    farm.people["Ada"].save(update_fields=["user"])
    return user


@pytest.fixture
def viewer_user(farm: rows.Farm) -> User:
    """Viewer at HILL."""
    return rows.build_user("viewer", "viewer", farm.hill)


@pytest.fixture
def stranger(farm: rows.Farm) -> User:
    """Planner at PLAIN, nobody at HILL."""
    return rows.build_user("stranger", "planner", farm.plain)
