"""What is printed stays text: no name in a file, header or address can move the cursor or repaint the terminal."""

import io
import re
import sys

CONTROL = re.compile(r"(\x1b\[\?25[lh])|[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]")
"""Control characters of ISO 6429 but tab, newline and return; the progress bar's own hiding of the cursor passes."""


class PlainText(io.TextIOWrapper):
    r"""A stream that writes control characters as \u001b and the like, which JSON reads back as what they were."""

    def write(self, text: str, /) -> int:
        """Write text."""
        return super().write(CONTROL.sub(lambda found: found[1] or f"\\u{ord(found[0]):04x}", text))


def plain_streams() -> None:
    """Let both streams of the program print text only; a narrow encoding gets a replacement sign."""
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if isinstance(stream, io.TextIOWrapper) and not isinstance(stream, PlainText):
            stream.flush()
            lines = stream.line_buffering
            setattr(sys, name, PlainText(stream.buffer, stream.encoding, "replace", line_buffering=lines))
