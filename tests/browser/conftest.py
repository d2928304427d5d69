"""A browser on the live pages. Needs Chromium; without it the tests are skipped, unless LULL_TESTS_REFUSE_SKIP is set."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from playwright.sync_api import Browser, ConsoleMessage, Page, sync_playwright
from pytest_django.live_server_helper import LiveServer

CHROMIUM = Path("/usr/bin/chromium")
FLAGS = [
    "--no-sandbox",
    "--headless",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]
SHOTS = Path(settings.VAR_DIR) / "screenshots"


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """One Chromium for all tests."""
    if not CHROMIUM.exists():
        if os.environ.get("LULL_TESTS_REFUSE_SKIP"):
            pytest.fail(f"{CHROMIUM} is not here, and skipping is refused: install chromium")
        pytest.skip(f"{CHROMIUM} is not here: install chromium (apt-get install chromium)")
    SHOTS.mkdir(parents=True, exist_ok=True)
    # Playwright's own loop runs in this thread; Django would refuse plain database calls beside it.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
    try:
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=str(CHROMIUM), args=FLAGS)
            yield browser
            browser.close()
    finally:
        del os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"]


class Visitor:
    """A page, what its console complained of, and what it asked of other machines."""

    def __init__(self, page: Page, address: str) -> None:
        self.page, self.address = page, address
        self.complaints: list[str] = []
        self.elsewhere: list[str] = []
        page.on("console", self._console)
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.on("request", lambda asked: self._asked(asked.url))

    def _console(self, message: ConsoleMessage) -> None:
        if message.type in ("error", "warning"):
            self.complaints.append(f"{message.type}: {message.text} at {self.page.url}")

    def _asked(self, url: str) -> None:
        if not url.startswith((self.address, "data:", "about:")):
            self.elsewhere.append(url)

    def open(self, path: str) -> None:
        """Go to a page and wait until it stands still."""
        self.page.goto(self.address + path)
        self.page.wait_for_load_state("load")

    def log_in(self, name: str) -> None:
        """By the login page, as people do."""
        self.open("/login/")
        self.page.fill("[name=username]", name)
        self.page.fill("[name=password]", "lull")
        self.page.click("text=Log in >> nth=-1")
        self.page.wait_for_url("**/today/")

    def shot(self, name: str) -> None:
        """A picture of the whole page under var/screenshots."""
        self.page.screenshot(path=str(SHOTS / f"{name}.png"), full_page=True)

    def too_wide_by(self) -> int:
        """Pixels by which the page is wider than the window."""
        return int(self.page.evaluate("document.documentElement.scrollWidth - window.innerWidth"))


@pytest.fixture
def visitor(chromium: Browser, live_server: LiveServer) -> Iterator[Callable[..., Visitor]]:
    """Makes visitors with windows of a width."""
    contexts: list[Any] = []

    def make(width: int = 1280) -> Visitor:
        context = chromium.new_context(viewport={"width": width, "height": 900}, reduced_motion="reduce")
        context.set_default_timeout(15_000)
        contexts.append(context)
        return Visitor(context.new_page(), live_server.url)

    yield make
    for context in contexts:
        context.close()
