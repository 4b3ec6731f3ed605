"""What hands do in a browser, and how long they wait: until the planner has answered."""


def press(button):
    """Send a posting that leads to another page, or to the same one loaded again."""
    with button.page.expect_navigation():
        button.click()
