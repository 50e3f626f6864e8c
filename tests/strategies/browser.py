"""The browser that tests use: Debian's Chromium, which may be missing at home but not in CI."""

import os
import shutil
from pathlib import Path

import pytest


def chromium_path() -> str:
    """Return Chromium's path; without one the test is skipped, in CI it fails."""
    for name in ("chromium", "chromium-browser", "google-chrome"):
        found = shutil.which(name)
        if found:
            return found
    if os.environ.get("CI"):
        pytest.fail("Chromium is missing; CI must install it.")
    pytest.skip("needs Chromium")


def chromium_flags(profile: Path) -> list[str]:
    """Return flags for a quiet, headless browser with a profile of its own."""
    return [
        "--headless",
        "--no-sandbox",
        "--disable-gpu",
        "--disable-quic",
        "--no-first-run",
        "--disable-background-networking",
        "--disable-component-update",
        "--disable-sync",
        f"--user-data-dir={profile}",
    ]
