"""The office pages in a real browser: nothing complains, and everybody can read them."""

from collections.abc import Iterator
from datetime import UTC, datetime

import pytest
from playwright.sync_api import Browser, BrowserContext

from catchpan.calls.demo_shop import fill_with_demo
from catchpan.catalog.load import catalog
from tests.field.small_shop import small_shop
from tests.web.browsing import SIZES, Complaints, axe_findings

COMPILING_MS = 600_000
"""A summary may have to wait until its system is compiled."""
CALL = "/calls/demo-capacitor"
PAGES = ("/", CALL, f"{CALL}/summary", f"{CALL}/file", "/calls/demo-attic")


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with small_shop(tmp_path_factory.mktemp("shop")) as served:
        fill_with_demo(served.shop.book.store, catalog(), datetime.now(UTC))
        yield served.address


@pytest.fixture(params=SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def context(request: pytest.FixtureRequest, browser: Browser) -> Iterator[BrowserContext]:
    width, height = request.param
    opened = browser.new_context(viewport={"width": width, "height": height})
    opened.set_default_timeout(COMPILING_MS)
    yield opened
    opened.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_page_is_quiet_readable_and_fits(
    context: BrowserContext, address: str, scheme: str
) -> None:
    complaints = Complaints()
    complaints.listen_to(context)
    page = context.new_page()
    page.emulate_media(color_scheme="dark" if scheme == "dark" else "light")
    for path in PAGES:
        page.goto(f"{address}{path}")
        assert axe_findings(page, context) == [], path
        wide = page.evaluate("document.documentElement.scrollWidth - innerWidth")
        assert wide <= 0, f"{path} is {wide} px too wide"
    assert complaints.found == []


def test_a_call_is_reached_by_keyboard(context: BrowserContext, address: str) -> None:
    page = context.new_page()
    page.goto(address)
    for _ in range(12):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.className") == "whole":
            break
    page.keyboard.press("Enter")
    page.wait_for_url("**/calls/*")
    assert page.locator("h1").inner_text()


def test_the_summary_prints_without_the_pages_frame(context: BrowserContext, address: str) -> None:
    page = context.new_page()
    page.emulate_media(media="print")
    page.goto(f"{address}/calls/demo-capacitor/summary")
    assert page.locator("header").is_hidden()
    assert page.locator("article h1").is_visible()
