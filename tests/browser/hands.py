"""What hands do in a browser, and how long they wait: until the planner has answered."""

from axe_playwright_python.sync_playwright import Axe

PHONE = {"width": 390, "height": 844}
DESK = {"width": 1440, "height": 900}
MOST_TABS = 120


def press(button):
    """Send a posting that leads to another page, or to the same one loaded again."""
    with button.page.expect_navigation():
        button.click()


def reach(page, words):
    """Press Tab until the link or button with these words has the focus; how many it took."""
    for tabs in range(1, MOST_TABS):
        page.keyboard.press("Tab")
        focused = page.locator("a:focus, button:focus")
        if focused.count() and words in focused.inner_text():
            return tabs
    raise AssertionError(f"“{words}” is not reached by Tab on {page.url}")


def enter(page):
    with page.expect_navigation():
        page.keyboard.press("Enter")


def reads_well(page):
    """Nothing for axe to complain of by day or by night, and nothing wider than the screen."""
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        results = Axe().run(page)
        assert results.violations_count == 0, f"{page.url}\n{results.generate_report()}"
    width = page.viewport_size["width"]
    assert page.evaluate("document.documentElement.scrollWidth") <= width, page.url


def find(page, plate):
    page.get_by_role("searchbox").fill(plate)
    page.get_by_role("searchbox").press("Enter")
    page.wait_for_load_state()
    if "/vehicles/" not in page.url:
        page.get_by_role("link", name=plate).first.click()
    page.wait_for_url("**/vehicles/*/")


def open_a_job(page, kind):
    page.get_by_label("Kind").select_option(label=kind)
    page.get_by_role("button", name="Open the job").click()
    page.wait_for_url("**/jobs/*/")
