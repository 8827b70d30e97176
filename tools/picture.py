"""Draws the picture of the README: the demo garden's two weeks on a phone and on a desk, side by side."""

from __future__ import annotations

import base64
import sys
import tempfile
import threading
import time
from datetime import date
from pathlib import Path

import uvicorn
from playwright.sync_api import Browser, sync_playwright

from bearwell import api
from bearwell.faces.web.app import create_app

PORT = 8397
TARGET = Path(__file__).parent.parent / "docs" / "pictures" / "week.png"


def shot(browser: Browser, width: int, height: int, path: str) -> str:
    """A view of a page as a data address."""
    page = browser.new_page(viewport={"width": width, "height": height}, color_scheme="light")
    page.goto(f"http://127.0.0.1:{PORT}{path}")
    picture = page.screenshot()
    page.close()
    return "data:image/png;base64," + base64.b64encode(picture).decode()


def main(chromium: str, today: date) -> None:
    """Serve the demo for a while, take both views, lay them side by side."""
    with tempfile.TemporaryDirectory() as folder:
        garden = api.write_demo(Path(folder), today)
        app = create_app(garden, today=lambda: today)
        server = uvicorn.Server(uvicorn.Config(app, port=PORT, log_level="error"))
        threading.Thread(target=server.run, daemon=True).start()
        while not server.started:
            time.sleep(0.05)
        with sync_playwright() as play:
            browser = play.chromium.launch(
                executable_path=chromium, args=["--no-sandbox", "--disable-gpu"]
            )
            phone = shot(browser, 390, 860, "/")
            desk = shot(browser, 1180, 860, "/tree/satsuma-gate")
            page = browser.new_page(viewport={"width": 1660, "height": 930})
            frame = "border:1px solid #b9b29c;border-radius:10px;display:block"
            page.set_content(
                '<body style="margin:0;background:#e9e3d3;display:flex;gap:30px;padding:34px">'
                f'<img style="{frame}" src="{phone}"><img style="{frame}" src="{desk}"></body>'
            )
            page.wait_for_timeout(300)
            TARGET.parent.mkdir(parents=True, exist_ok=True)
            page.screenshot(path=str(TARGET))
            browser.close()
        server.should_exit = True
    print(f"{TARGET.name}: {TARGET.stat().st_size // 1024} KB")


if __name__ == "__main__":
    main(
        sys.argv[1] if len(sys.argv) > 1 else "/usr/bin/chromium", date.fromisoformat("2026-11-25")
    )
