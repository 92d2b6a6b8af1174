"""Pieces of a panel: its look, tables as HTML, texts made harmless."""

from html import escape
from textwrap import fill

import pandas as pd

from brakedata.figures import FONT, INK, PAST, QUIET, SHADE

STYLE = f"""<style>
.brakedata {{ background: #fff; color: {INK}; font: 14px/1.5 {FONT}; padding: 14px 18px 20px; max-width: 1400px; box-sizing: border-box;
  --jp-widgets-font-size: 14px; --jp-widgets-color: {INK}; --jp-widgets-label-color: {INK}; --jp-widgets-readout-color: {INK};
  --jp-widgets-input-color: {INK}; --jp-widgets-input-background-color: #fff; --jp-widgets-input-border-color: #b9c3cd;
  --jp-widgets-slider-active-handle-color: #08519c; --jp-widgets-slider-handle-background-color: #fff;
  --jp-widgets-slider-handle-border-color: #08519c; --jp-widgets-input-focus-border-color: #08519c;
  --jp-widgets-inline-label-width: auto; --jp-layout-color2: #edf1f4; --jp-layout-color3: #dbe3ea; --jp-ui-font-color1: {INK};
  --jp-brand-color1: #08519c; --jp-brand-color2: #3182bd; --jp-widgets-slider-track-thickness: 5px; }}
.brakedata .widget-label, .brakedata button, .brakedata input, .brakedata select, .brakedata .widget-html-content {{
  font-family: {FONT}; font-size: 14px; }}
.brakedata .widget-html-content {{ line-height: 1.5; color: {INK}; }}
.brakedata .widget-label {{ color: {QUIET}; padding-right: 2px; }}
.brakedata .jupyter-button {{ border-radius: 4px; background: #edf1f4; color: {INK}; box-shadow: none; }}
.brakedata .jupyter-button:hover, .brakedata .jupyter-button:focus-visible {{ background: #dbe3ea; outline: 2px solid #6baed6; }}
.brakedata .jupyter-button.mod-primary {{ background: #08519c; color: #fff; }}
.brakedata .jupyter-button.mod-active {{ background: #08519c; color: #fff; }}
.brakedata .jupyter-button:disabled {{ opacity: .5; }}
.brakedata-controls {{ flex-flow: row wrap !important; gap: 8px 16px; align-items: center; padding: 2px 0; overflow: visible !important; }}
.brakedata-controls > .jupyter-widgets {{ margin: 2px 0; }}
.brakedata-column {{ align-items: flex-start; border-bottom: 1px solid #edf1f4; }}
.brakedata-column > .widget-html {{ flex: 1 1 380px; }}
.brakedata-top {{ border-bottom: 1px solid #dfe5eb; padding-bottom: 10px; margin-bottom: 4px; }}
.brakedata-status {{ color: {QUIET}; }}
.brakedata-error p {{ border-left: 5px solid {INK}; background: #edf1f4; padding: 9px 14px; margin: 6px 0; font-weight: bold; }}
.brakedata h3 {{ font: bold 16px/1.3 {FONT}; color: {INK}; margin: 18px 0 6px; }}
.brakedata h2 {{ font: bold 19px/1.3 {FONT}; color: {INK}; margin: 12px 0 2px; }}
.brakedata p {{ margin: 3px 0; max-width: 62rem; }}
.brakedata .quiet {{ color: {QUIET}; font-size: 13px; }}
.brakedata ul {{ margin: 4px 0; padding-left: 1.3em; max-width: 62rem; }}
.brakedata li {{ margin: 3px 0; }}
.brakedata code {{ background: {SHADE}; padding: 1px 5px; color: {INK}; font-size: 13px; overflow-wrap: anywhere; }}
.brakedata .widget-html, .brakedata .widget-html-content {{ min-width: 0; max-width: 100%; height: auto; }}
.brakedata .scroll {{ display: inline-block; max-width: 100%; box-sizing: border-box; overflow: auto; max-height: 430px;
  border: 1px solid #dfe5eb; }}
.brakedata .widget-toggle-buttons {{ display: flex; flex-flow: row nowrap; align-items: center; width: auto; overflow: visible; }}
.brakedata .widget-toggle-buttons > div {{ display: flex; flex-flow: row nowrap; }}
.brakedata .widget-toggle-buttons .widget-label {{ margin-right: 6px; }}
.brakedata .brakedata-pages .widget-label {{ flex-shrink: 0; }}
.brakedata .brakedata-pages > div {{ flex-flow: row wrap; gap: 4px 0; }}
.brakedata .brakedata-pages .widget-toggle-button {{ padding: 0 10px; }}
.brakedata .widget-toggle-button {{ padding: 0 4px; margin: 0 3px 0 0; overflow: visible; }}
.brakedata-picture {{ margin-top: 12px; overflow: hidden; }}
.brakedata table {{ border-collapse: collapse; font: 13px/1.4 {FONT}; color: {INK}; margin: 0; }}
.brakedata th {{ position: sticky; top: 0; background: #fff; text-align: left; vertical-align: bottom; font-weight: bold; color: {QUIET};
  padding: 7px 8px 6px 8px; border-bottom: 1px solid {PAST}; max-width: 11em; white-space: normal; }}
.brakedata td {{ text-align: left; vertical-align: top; padding: 5px 8px; border-bottom: 1px solid #edf1f4; background: #fff; }}
.brakedata th.worded {{ min-width: 6.5em; }}
.brakedata td.number, .brakedata th.number {{ text-align: right; font-variant-numeric: tabular-nums; white-space: nowrap; }}
.brakedata td.short {{ white-space: nowrap; }}
.brakedata td.long {{ min-width: 16em; max-width: 30em; }}
</style>"""

NUMBERS = frozenset({"line", "rows read", "used", "used in part", "not used", "notes"})
LONG, WORDED = 46, 16


def table(frame: pd.DataFrame, empty: str, numbers=NUMBERS) -> str:
    """A table as HTML, every cell escaped; columns named in ``numbers`` or naming a distance stand to the right.

    Parameters
    ----------
    frame : DataFrame of str
    empty : str
        What to say when there is no row.
    numbers : set of str
    """
    if not len(frame):
        return f"<p class='quiet'>{escape(empty)}</p>"
    kinds = [_kind(name, frame[name], numbers) for name in frame.columns]
    head = "".join(_heading(str(name), kind) for name, kind in zip(frame.columns, kinds, strict=True))
    columns = [
        [f"<td class='{kind}'>{escape(str(cell))}</td>" for cell in frame[name]]
        for name, kind in zip(frame.columns, kinds, strict=True)
    ]
    rows = "".join(f"<tr>{''.join(cells)}</tr>" for cells in zip(*columns, strict=True))
    return f"<div class='scroll' tabindex='0'><table><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table></div>"


def _heading(name, kind) -> str:
    return f"<th class='{kind}{' worded' if len(name) > WORDED else ''}' scope='col'>{escape(name)}</th>"


def _kind(name, cells, numbers) -> str:
    if name in numbers or (str(name).startswith(("odometer [", "due [")) and "between" not in str(name)):
        return "number"
    longest = max(len(str(cell)) for cell in cells)
    return "long" if longest > LONG else "short"


def wrapped(said: list[str], width: int = 96) -> str:
    """Sentences as plain text, a line each, long ones broken."""
    return "\n".join(
        fill(sentence, width, subsequent_indent="  ", break_long_words=False, break_on_hyphens=False) for sentence in said
    )


def sentences(said: list[str]) -> str:
    """Sentences as a list, escaped."""
    return "<ul>" + "".join(f"<li>{escape(sentence)}</li>" for sentence in said) + "</ul>"


def pages(rows: int, size: int) -> list[tuple[str, int]]:
    """Options that page through ``rows`` rows: the label and the first row of each page."""
    if not rows:
        return [("none", 0)]
    return [(f"{first + 1:,} to {min(first + size, rows):,}", first) for first in range(0, rows, size)]
