"""What people do on many pages."""

from playwright.sync_api import Locator, Page, expect

A_TASK_TAKES_MS = 180_000  # in the queue, on a busy machine


def save(page: Page) -> None:
    """Save the form of the page; the next page says that it is saved."""
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("status").first).to_contain_text("saved")


def choose(field: Locator, word: str) -> None:
    """Choose the one option that has this word in it."""
    field.select_option(value=field.locator("option", has_text=word).get_attribute("value"))


def wait_for_history(page: Page) -> None:
    """On a page of a history: stay until what it shows rests on the records as they are."""
    waiting = page.locator("#history-progress")
    ready = waiting.get_by_role("link", name="Show it")
    expect(page.locator("#page:not(:has(#history-progress))").or_(ready)).to_be_visible(
        timeout=A_TASK_TAKES_MS
    )
    if ready.is_visible():
        page.reload()
