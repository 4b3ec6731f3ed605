"""The README's picture, made from the demo shop: `python -m tests.browser.screenshot FILE`."""

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.error import URLError
from urllib.request import urlopen

from playwright.sync_api import sync_playwright

from tests.on_postgres import free_port

CHROMIUM = "/usr/bin/chromium"

PERSON, PASSWORD = "ines", "salt-on-winter-roads"
SECONDS_TO_START = 60


@contextmanager
def demo_site() -> Iterator[str]:
    """The demo shop served from a temporary folder."""
    port = free_port()
    with tempfile.TemporaryDirectory(prefix="planner-picture-") as folder:
        environment = os.environ | {"PLANNER_DATA": folder}
        manage = [sys.executable, "manage.py"]
        subprocess.run([*manage, "demo_shop"], env=environment, check=True)
        server = subprocess.Popen([*manage, "start", "--port", str(port)], env=environment)
        try:
            address = f"http://127.0.0.1:{port}"
            wait_for(address)
            yield address
        finally:
            server.terminate()
            server.wait()


def wait_for(address: str) -> None:
    for _ in range(SECONDS_TO_START * 4):
        try:
            urlopen(address).close()
        except URLError:
            time.sleep(0.25)
        else:
            return
    raise TimeoutError(f"nothing answers at {address}")


def main(target: Path) -> None:
    with demo_site() as address, sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"]
        )
        page = browser.new_page(viewport={"width": 1200, "height": 1380})
        page.goto(f"{address}/log-in/")
        page.fill("[name=username]", PERSON)
        page.fill("[name=password]", PASSWORD)
        page.click("main button")
        page.goto(f"{address}/plan/")
        page.get_by_role("link", name="why").first.click()
        page.wait_for_selector("svg.chart")
        page.screenshot(path=target)
        browser.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]))
