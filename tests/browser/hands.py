"""What hands do in a browser, and how long they wait: until the planner has answered."""

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

PHONE = {"width": 390, "height": 844}
DESK = {"width": 1440, "height": 900}
MOST_TABS = 120
FOCUSED = """() => {
    const at = document.activeElement;
    return at.matches("a, button, input, select") ? at.labels?.[0]?.innerText || at.innerText : "";
}"""


def press(button):
    """Send a posting that leads to another page, or to the same one loaded again."""
    with button.page.expect_navigation():
        button.click()


def reach(page, words):
    """Press Tab until the link, button or field with these words has the focus."""
    for _ in range(MOST_TABS):
        page.keyboard.press("Tab")
        if words in page.evaluate(FOCUSED):
            return
    raise AssertionError(f"“{words}” is not reached by Tab on {page.url}")


def enter(page, words=""):
    """Enter on the link or button with these words, or where the focus is, and the next page."""
    if words:
        reach(page, words)
    with page.expect_navigation():
        page.keyboard.press("Enter")


def scan(page, code):
    """A code and Enter into the field that has the focus by itself, as a wedge does it."""
    expect(page.locator("main input:focus")).to_have_value("")
    page.keyboard.type(str(code))
    with page.expect_response(
        lambda answer: answer.request.is_navigation_request() or posted(answer)
    ):
        page.keyboard.press("Enter")


def posted(answer):
    return answer.request.method == "POST"


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
