"""Our palette in three themes, and the contrast that its text keeps.

The language is that of a printed sea chart: pale water tints that deepen with altitude, buff land for what stands in
the way, yellow for lit sectors, magenta for what the navigator lays over the chart (the needle, the plan).

day    ink on pale paper.
night  for dark-adapted eyes: only the red component, nothing bright.
print  black on white, greys and hatching; nothing depends on colour.
"""

from dataclasses import dataclass
from typing import Literal

from sidelight.ground.errors import OurFault, Problem, did_you_mean

Theme = Literal["day", "night", "print"]


@dataclass(frozen=True)
class Palette:
    """Colours by role, as "#rrggbb".

    paper, ink : ground and writing. soft_ink : writing of second rank. hairline : grooves, grids, thin frames.
    lit_west, lit_east : fill of a ring's lit arcs; lit_edge : their outline. overlay : the needle, the plan, "today".
    land, land_ink : what blocks the view, and lines on it. tints : water, from shallow to deep (altitude, hours).
    beam : where every needed ring is lit, swept over the dial from its middle.
    sky : twilight steps from daylight to dark. moonlight : hatching where the Moon is up.
    series : inks of curves, each fit for text.
    """

    paper: str
    ink: str
    soft_ink: str
    hairline: str
    lit_west: str
    lit_east: str
    lit_edge: str
    beam: str
    overlay: str
    land: str
    land_ink: str
    tints: tuple[str, ...]
    sky: tuple[str, ...]
    moonlight: str
    series: tuple[str, ...]

    @property
    def text_inks(self) -> tuple[str, ...]:
        """The colours that text is written in."""
        return (self.ink, self.soft_ink, self.overlay, *self.series)


_DAY = Palette(
    paper="#fbfcfb",
    ink="#12263c",
    soft_ink="#465a6d",
    hairline="#aebdc7",
    lit_west="#f3bd3a",
    lit_east="#3c8d93",
    lit_edge="#7c5c0c",
    beam="#fbe7b0",
    overlay="#a3125f",
    land="#eadfbd",
    land_ink="#7d6c3c",
    tints=("#e9f2f5", "#cfe3ea", "#b0d0dc", "#8fbbcc", "#70a5bb"),
    sky=("#eadfbd", "#ede6cf", "#e9ebe3", "#e3ecee", "#dce9ef"),
    moonlight="#fbfcfb",
    series=("#12263c", "#a3125f", "#0f6168", "#7a5200", "#4b3f8f"),
)

_NIGHT = Palette(
    paper="#060000",
    ink="#d80000",
    soft_ink="#bc0000",
    hairline="#4a0000",
    lit_west="#a00000",
    lit_east="#5c0000",
    lit_edge="#b80000",
    beam="#380000",
    overlay="#e00000",
    land="#2a0000",
    land_ink="#6a0000",
    tints=("#120000", "#1e0000", "#2a0000", "#380000", "#480000"),
    sky=("#2a0000", "#200000", "#170000", "#0f0000", "#080000"),
    moonlight="#7a0000",
    series=("#d80000", "#e00000", "#bc0000", "#cc0000", "#c40000"),
)

_PRINT = Palette(
    paper="#ffffff",
    ink="#000000",
    soft_ink="#333333",
    hairline="#9a9a9a",
    lit_west="#000000",
    lit_east="#ffffff",
    lit_edge="#000000",
    beam="#d8d8d8",
    overlay="#000000",
    land="#e4e4e4",
    land_ink="#555555",
    tints=("#f4f4f4", "#e4e4e4", "#d2d2d2", "#bebebe", "#a8a8a8"),
    sky=("#d4d4d4", "#e0e0e0", "#ebebeb", "#f5f5f5", "#ffffff"),
    moonlight="#ffffff",
    series=("#000000", "#333333", "#000000", "#333333", "#000000"),
)

_THEMES: dict[str, Palette] = {"day": _DAY, "night": _NIGHT, "print": _PRINT}


def palette(theme: Theme) -> Palette:
    """Return the palette of a theme; OurFault for a name that is none of the three."""
    try:
        return _THEMES[theme]
    except KeyError:
        known = ", ".join(_THEMES)
        raise OurFault(
            Problem(
                f'"{theme}" is not a theme of the pictures.',
                expected=known,
                suggestion=did_you_mean(theme, _THEMES) or f"Choose one of {known}.",
            )
        ) from None


def luminance(colour: str) -> float:
    """Return the relative luminance of "#rrggbb", 0 to 1 (WCAG 2.2, "relative luminance", for sRGB)."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours, 1 to 21 (WCAG 2.2, "contrast ratio")."""
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)
