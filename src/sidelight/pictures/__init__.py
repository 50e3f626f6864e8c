"""Pictures: every drawing, once, from plain arrays and labels, as SVG."""
