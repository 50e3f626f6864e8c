"""Pictures: every drawing, made once, from plain labels and arrays, as SVG text."""
