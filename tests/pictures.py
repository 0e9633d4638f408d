"""Takes the pictures of the README from the program itself: ``python -m tests.pictures``; other sizes go where ``--all`` says."""

from __future__ import annotations

import argparse
import re
import shutil
from pathlib import Path

from playwright.sync_api import sync_playwright

from tests.serving import served

ROOT = Path(__file__).parents[1]
README = ROOT / "apps" / "look" / "explore.png"
SIZES = {"desk": (1440, 900), "wall": (1280, 720), "phone": (390, 844)}


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--all", type=Path, help="folder for pictures at every size, light and dark")
    folder = options.parse_args().all
    with served() as address, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        wanted = [(README, SIZES["desk"], "light")]
        if folder:
            folder.mkdir(parents=True, exist_ok=True)
            wanted = [(folder / f"{n}-{t}.png", s, t) for n, s in SIZES.items() for t in ("light", "dark")]
        for path, (width, height), theme in wanted:
            page = browser.new_page(viewport={"width": width, "height": height}, color_scheme=theme)
            page.goto(address)
            page.get_by_role("img", name=re.compile("^Hand from the thumb side")).wait_for()
            page.locator(".bk-Figure").first.wait_for(state="attached")
            page.wait_for_timeout(1500)  # the easing of the hand and the first drawing of the plots
            page.screenshot(path=path)
        browser.close()


if __name__ == "__main__":
    main()
