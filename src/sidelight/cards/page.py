"""The one page that every card is: self-contained HTML in a picture's palette, one sheet when printed."""

from collections.abc import Sequence
from html import escape

from sidelight.pictures.palette import Palette, Theme, palette

CSS = """
@page { size: A4; margin: 10mm 11mm 9mm }
* { box-sizing: border-box }
html { color-scheme: SCHEME; -webkit-text-size-adjust: 100% }
html { font-size: 15px }
body { margin: 0; background: PAPER; color: INK; font: 1rem/1.42 system-ui, -apple-system, "Segoe UI", sans-serif }
main { max-width: 62rem; margin: 0 auto; padding: 1.1rem 1rem 2rem }
header { border-bottom: 3px double INK; padding-bottom: .5rem; margin-bottom: .8rem }
h1 { font: 600 1.65rem/1.15 Georgia, "Times New Roman", serif; margin: 0 }
header p { margin: .2rem 0 0; color: SOFT }
h2 { font: 600 1.1rem/1.2 Georgia, "Times New Roman", serif; margin: 1rem 0 .35rem }
.figures { display: flex; flex-wrap: wrap; gap: .4rem 1.6rem; margin: .6rem 0; padding: 0 }
.figures div { border-left: 3px solid OVERLAY; padding-left: .6rem }
.figures dt { color: SOFT; font-size: .85rem }
.figures dd { margin: 0; font-size: 1.45rem; font-weight: 650; font-variant-numeric: tabular-nums }
.columns { display: grid; grid-template-columns: minmax(0, 1fr) minmax(0, 1fr); gap: .4rem 1.4rem }
table { border-collapse: collapse; width: 100%; font-variant-numeric: tabular-nums }
th { text-align: left; color: SOFT; font-weight: 600; font-size: .85rem }
th, td { padding: .22rem .7rem .22rem 0; border-bottom: 1px solid HAIR; vertical-align: top }
.scroll { overflow-x: auto }
ol, ul { margin: .3rem 0; padding-left: 1.35rem } ol { padding-left: 1.8rem }
li { margin: .2rem 0 }
li.tick { list-style: none; position: relative; padding-left: .3rem }
li.tick::before { content: ""; position: absolute; left: -1.25rem; top: .22rem; width: .85rem; height: .85rem;
  border: 1.5px solid INK; border-radius: 2px }
figure { margin: .4rem 0 }
figure svg { display: block; width: 100%; height: auto; max-height: 78vh }
.caution { border: 1.5px solid INK; padding: .45rem .8rem; margin-top: .9rem; break-inside: avoid }
.caution h2 { margin: 0 0 .2rem }
.blank { display: flex; gap: 1.2rem; margin: .2rem 0 }
.blank span { display: flex; flex: 1; align-items: end; gap: .5rem }
.blank i { flex: 1; height: 1.7rem; border-bottom: 1px solid INK }
.note { color: SOFT }
footer { margin-top: .8rem; color: SOFT; font-size: .85rem }
figure.phone { display: none }
th, td { white-space: nowrap }
@media (min-width: 40rem) {
  .wrapped th, .wrapped td { white-space: normal } .wrapped th[scope=row] { white-space: nowrap }
}
@media (max-width: 40rem) {
  .columns { grid-template-columns: minmax(0, 1fr) }
  figure.desk { display: none } figure.phone { display: block }
}
.sensors { display: grid; grid-template-columns: minmax(0, 1fr) minmax(0, 1fr); gap: .4rem 1.4rem }
@media (max-width: 40rem) { .sensors { grid-template-columns: minmax(0, 1fr) } }
@media print {
  figure.desk { display: block } figure.phone { display: none }
  html { font-size: 9.4px } main { padding: 0; max-width: none }
  figure svg { max-height: 132mm; margin: 0 auto } .sensors { grid-template-columns: minmax(0, 1fr) minmax(0, 1fr) }
  th, .figures dt, footer { font-size: 1rem } .figures dd { font-size: 1.4rem } footer { margin-top: .4rem }
  .blank { margin: 0 } .sensors figure { margin: 0 }
  .figures { margin: .3rem 0 } li { margin: .04rem 0 }
  h2 { margin: .35rem 0 .15rem } .caution { margin-top: .3rem; padding: .15rem .6rem } th, td { padding-block: .1rem }
  .note { margin: .15rem 0 } figure { margin: .2rem 0 } header { margin-bottom: .4rem }
}
"""


def _styled(colours: Palette, theme: Theme) -> str:
    """Return the style sheet in a theme's colours."""
    css = CSS
    for word, colour in (
        ("SCHEME", "dark" if theme == "night" else "light"),
        ("PAPER", colours.paper),
        ("OVERLAY", colours.overlay),
        ("SOFT", colours.soft_ink),
        ("HAIR", colours.hairline),
        ("INK", colours.ink),
    ):
        css = css.replace(word, colour)
    return css


def page(title: str, subtitle: str, body: Sequence[str], theme: Theme, footer: str) -> str:
    """Return a whole HTML document; `body` is HTML, the rest is text."""
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><meta name="generator" content="Sidelight">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(title)}</title><style>{_styled(palette(theme), theme)}</style></head>\n"
        f"<body><main><header><h1>{escape(title)}</h1><p>{escape(subtitle)}</p></header>\n"
        + "\n".join(body)
        + f"\n<footer>{escape(footer)}</footer></main></body></html>\n"
    )


def figures(pairs: Sequence[tuple[str, str]]) -> str:
    """Return the large figures at the head of a card: (name, value) pairs."""
    cells = "".join(f"<div><dt>{escape(name)}</dt><dd>{escape(value)}</dd></div>" for name, value in pairs)
    return f'<dl class="figures">{cells}</dl>'


def table(head: Sequence[str], rows: Sequence[Sequence[str]], caption: str = "", *, wrapped: bool = False) -> str:
    """Return a table of text cells; the first cell of a row is its heading. `wrapped`: long cells may take lines."""
    top = "".join(f'<th scope="col">{escape(cell)}</th>' for cell in head)
    body = "".join(
        "<tr>"
        + "".join(
            f'<th scope="row">{escape(cell)}</th>' if i == 0 else f"<td>{escape(cell)}</td>"
            for i, cell in enumerate(row)
        )
        + "</tr>"
        for row in rows
    )
    name = f"<caption>{escape(caption)}</caption>" if caption else ""
    kind = ' class="wrapped"' if wrapped else ""
    return f'<div class="scroll"><table{kind}>{name}<thead><tr>{top}</tr></thead><tbody>{body}</tbody></table></div>'


def paragraph(text: str) -> str:
    """Return a paragraph of text."""
    return f"<p>{escape(text)}</p>"


def steps(lines: Sequence[str]) -> str:
    """Return numbered steps."""
    return "<ol>" + "".join(f"<li>{escape(line)}</li>" for line in lines) + "</ol>"


def ticks(lines: Sequence[str]) -> str:
    """Return lines with a box each to tick off with a pen."""
    return "<ul>" + "".join(f'<li class="tick">{escape(line)}</li>' for line in lines) + "</ul>"


def blanks(rows: Sequence[Sequence[str]]) -> str:
    """Return lines to write on with a pen, each with what belongs there."""
    lines = ("".join(f"<span>{escape(name)}<i></i></span>" for name in row) for row in rows)
    return "".join(f'<p class="blank">{line}</p>' for line in lines)


def notes(lines: Sequence[str]) -> str:
    """Return remarks of second rank; nothing for none."""
    return "".join(f'<p class="note">{escape(line)}</p>' for line in lines)


def cautions(lines: Sequence[str]) -> str:
    """Return the box of cautions."""
    items = "".join(f"<li>{escape(line)}</li>" for line in lines)
    return f'<section class="caution"><h2>Take care</h2><ul>{items}</ul></section>'


def figure(svg: str) -> str:
    """Return a picture in the page; the drawing carries its own words for those who cannot see it."""
    return f"<figure>{svg}</figure>"


def figure_for_any_width(wide: str, narrow: str) -> str:
    """Return a picture in two widths, of which the page shows the one that fits."""
    return f'<figure class="desk">{wide}</figure><figure class="phone">{narrow}</figure>'


def heading(text: str) -> str:
    """Return a heading inside a card."""
    return f"<h2>{escape(text)}</h2>"


def columns(*parts: str) -> str:
    """Return parts side by side, one below the other on a phone."""
    return '<div class="columns">' + "".join(f"<div>{part}</div>" for part in parts) + "</div>"
