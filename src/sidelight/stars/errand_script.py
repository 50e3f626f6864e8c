"""Fetch star tables on a machine that has a network, for one that has none.

This file needs nothing but Python 3.8 or newer. Run it:

    python3 star-errand.py

It asks the service below for the circles listed at its end, one after the other and with pauses, and puts the answers
into star-errand.zip beside itself. Run again it goes on where it stopped. Carry the zip file back and import it.
"""

from __future__ import annotations

import json
import sys
import time
import urllib.parse
import urllib.request
import zipfile
from pathlib import Path
from typing import Any

RESULT = Path(__file__).resolve().parent / "star-errand.zip"
PAUSES_S = (2, 8, 30)


def ask(errand: dict[str, Any], circle: dict[str, Any]) -> bytes:
    """Return the body of one answer."""
    question = {"RA": circle["ra_deg"], "DEC": circle["dec_deg"], "SR": circle["radius_deg"], **errand["extra"]}
    base = errand["url"].rstrip("?&")
    address = base + ("&" if "?" in base else "?") + urllib.parse.urlencode(question)
    if not address.startswith(("http://", "https://")):
        sys.exit(address + " is no address on the web.")
    request = urllib.request.Request(address, headers={"User-Agent": "Sidelight star errand"})  # noqa: S310
    with urllib.request.urlopen(request, timeout=120) as response:  # noqa: S310 - the scheme is checked above
        body: bytes = response.read()
    return body


def fetch(errand: dict[str, Any], circle: dict[str, Any]) -> bytes | None:
    """Return one answer after a few attempts, None when there is none."""
    for pause in PAUSES_S:
        try:
            return ask(errand, circle)
        except OSError as error:
            print("   ", error, "- again in", pause, "s", flush=True)
            time.sleep(pause)
    return None


def already(errand: dict[str, Any]) -> set[str]:
    """Return the names of the answers that an earlier run has brought."""
    if not RESULT.exists():
        return set()
    with zipfile.ZipFile(RESULT) as archive:
        if json.loads(archive.read("errand.json")) != errand:
            sys.exit(f"{RESULT} belongs to another errand. Move it away first.")
        return set(archive.namelist())


def run(errand: dict[str, Any]) -> None:
    """Run the errand; each answer is in the zip file, whole, before the next one is asked for."""
    there = already(errand)
    missing = 0
    if not there:
        with zipfile.ZipFile(RESULT, "w") as archive:
            archive.writestr("errand.json", json.dumps(errand))
    for number, circle in enumerate(errand["circles"], start=1):
        name = f"{number:04d}.xml"
        if name in there:
            continue
        print(number, "of", len(errand["circles"]), circle["field"], flush=True)
        body = fetch(errand, circle)
        if body is None:
            missing += 1
            continue
        with zipfile.ZipFile(RESULT, "a", zipfile.ZIP_DEFLATED) as archive:
            archive.writestr(name, body)
        time.sleep(errand["pause_s"])
    if missing:
        sys.exit(f"{missing} answers are missing. Run this again later.")
    print("All there:", RESULT)


# the errand itself follows
