"""Pictures: pure functions from a view or a table to a plotly figure.

The title of a picture is its answer in words; limits are ink lines labelled at the line; blue is what is estimated, darker =
sooner or more likely to matter; grey is the past. A picture of one kind always has the same traces in the same order, some
of them empty, so that a shown picture can be updated in place. Each picture is first a plain dictionary (``..._spec``, what a
panel needs to update one), then a ``go.Figure``.
"""

from html import escape
from textwrap import wrap

import numpy as np
import pandas as pd
import plotly.graph_objects as go

from brakedata.shown import Shown, chance_text, count_text, day_text

FONT = "-apple-system, BlinkMacSystemFont, 'Segoe UI', Helvetica, Arial, sans-serif"
"""JupyterLab's own, so that a notebook and its pictures speak in one hand."""
INK, QUIET, PAST, GRID, PAPER, SHADE = "#1c2733", "#5b6875", "#98a3b0", "#edf1f4", "#ffffff", "#f5f7f9"
BLUE, DEEP = "#08519c", "#08306b"
BAND, OWN_BAND = "rgba(66,146,198,0.22)", "rgba(28,39,51,0.06)"
RISK_EDGES = (0.01, 0.05, 0.10, 0.20, 0.40)
RISK_BLUES = ("#c6dbef", "#9ecae1", "#6baed6", "#3182bd", "#08519c", "#08306b")
"""Six steps of one blue scale (light to dark), for chances under 1 %, to 5, 10, 20, 40 % and over."""
NO_RISK = "#c9d0d8"
TITLE_LETTERS, NOTE_LETTERS = 62, 104
"""Titles break into lines of this many letters, which fit a tablet's width."""
SIDES = ("left", "right", "")
ROLES = (("inner_pad", "leading_shoe"), ("outer_pad", "trailing_shoe"), ("pad", "shoe", "rotor", "drum"))
SYMBOLS = ("square", "circle", "diamond")
LABEL_WIDTH = 0.16
"""Share of a picture's width that a life's label takes on a tablet."""
ROW_PX = 26
FIRST_ROW_PX = 120


def plain(text) -> str:
    """Text from the records, made harmless for a picture: no markup, no formula."""
    return escape(str(text)).replace("$", "&#36;")


def _lines(text: str, most: int) -> list[str]:
    """Text broken into lines of nearly equal length, none over ``most`` letters; a number stays with its unit."""
    if not text:
        return []
    count = -(-len(text) // most)
    return wrap(text, min(most, len(text) // count + 8), break_on_hyphens=False)


def _spec(title: str, note: str, height: int, right: int) -> dict:
    """An empty picture with its title, in the house look; ``height`` in px without the title, ``right`` the right margin."""
    lines, notes = _lines(title, TITLE_LETTERS), wrap(note, NOTE_LETTERS, break_on_hyphens=False)
    head = "<br>".join(f"<b>{plain(line)}</b>" for line in lines)
    tail = "".join(f"<br><span style='font-size:13px;color:{QUIET}'>{plain(line)}</span>" for line in notes)
    top = 24 + 25 * (len(lines) + len(notes))
    layout = {
        "template": "none", "font": {"family": FONT, "size": 13, "color": INK},
        "title": {
            "text": head + tail, "font": {"family": FONT, "size": 19, "color": INK}, "x": 0, "xref": "container",
            "xanchor": "left", "y": 1 - 20 / (height + top), "yref": "container", "yanchor": "top", "pad": {"l": 2},
        },
        "paper_bgcolor": PAPER, "plot_bgcolor": PAPER, "height": height + top, "autosize": True, "hovermode": "closest",
        "margin": {"l": 70, "r": right, "t": top + 26, "b": 56}, "showlegend": False, "shapes": [], "annotations": [],
        "hoverlabel": {"bgcolor": PAPER, "bordercolor": PAST, "font": {"family": FONT, "size": 13, "color": INK}, "align": "left"},
    }  # fmt: skip
    return {"data": [], "layout": layout}


def _axis(title: str, **more) -> dict:
    return {
        "title": {"text": title, "font": {"size": 13, "color": QUIET}, "standoff": 10}, "showgrid": False, "zeroline": False,
        "showline": True, "linecolor": INK, "linewidth": 1, "ticks": "outside", "tickcolor": INK, "ticklen": 4, **more,
    }  # fmt: skip


def _rule(x, y, color=INK, width=1.0, dash="solid", **more) -> dict:
    """A straight line of the layout from (x[0], y[0]) to (x[1], y[1])."""
    return {
        "type": "line", "x0": x[0], "x1": x[1], "y0": y[0], "y1": y[1], "layer": "below",
        "line": {"color": color, "width": width, "dash": dash}, **more,
    }  # fmt: skip


def _note(x, y, text, color=INK, **more) -> dict:
    return {"x": x, "y": y, "text": text, "showarrow": False, "font": {"size": 12, "color": color}, "align": "left", **more}


def _trace(meta: str, **more) -> dict:
    return {"type": "scatter", "meta": meta, "name": meta, "showlegend": False, **more}


def _shown_list(values) -> list:
    """Numbers for a page; what is not known leaves a gap."""
    return [number if np.isfinite(number) else None for number in np.asarray(values, dtype=float).tolist()]


# --- wear -------------------------------------------------------------------------------------------------------------


def wear(view, shown: Shown) -> go.Figure:
    """Wear of one axle: readings, own line and shared estimate with their bands, limits, lives, as-of line and due window.

    Parameters
    ----------
    view : views.wear.WearView
    shown : Shown

    Returns
    -------
    Figure
        Traces by ``meta``: ``band`` and ``middle`` of the shared estimate, ``own band``, ``own line``, ``due window``, ``even odds``,
        ``readings``, ``left out``, and nine ``key`` (a position each, for the legend).
    """
    return go.Figure(wear_spec(view, shown))


def wear_spec(view, shown: Shown) -> dict:
    """``wear`` as a plain dictionary."""
    spec = _spec(view.headline(shown), view.behind(), 460, 150)
    x_range, y_range = _wear_ranges(view, shown)
    spec["data"] = [*_shared(view, shown), *_own(view, shown), *_window(view, shown), *_points(view.readings, shown)]
    shapes, notes = _fitted(view, shown, x_range)
    for more_shapes, more_notes in (_limit_lines(_wear_limits(view, shown), y_range), _as_of(view, shown, x_range)):
        shapes, notes = shapes + more_shapes, notes + more_notes
    spec["layout"] |= {
        "xaxis": _axis(f"odometer [{shown.distance}]", range=x_range, tickformat=",d"),
        "yaxis": _axis(f"lining remaining [{shown.thickness_axis}]", range=y_range),
        "shapes": shapes, "annotations": notes + _line_notes(view, shown, x_range), "showlegend": True,
        "legend": {"orientation": "h", "x": -0.012, "xanchor": "left", "y": 1.0, "yanchor": "bottom", "itemwidth": 30,
                   "font": {"size": 12, "color": QUIET}, "itemsizing": "trace", "bgcolor": "rgba(0,0,0,0)", "itemclick": False,
                   "itemdoubleclick": False},
    }  # fmt: skip
    return spec


def _wear_ranges(view, shown):
    last = [view.row["odometer_km"], *view.readings["odometer_km"], *view.path["odometer_km"].iloc[-1:]]
    end_km = np.nanmax([*last, view.from_km + 1000])
    pad_km = 0.02 * (end_km - view.from_km)
    top_mm = 1.1 * np.nanmax([view.position["new_mm"], *view.readings["value_mm"]])
    x_range = [shown.distance_of(view.from_km - pad_km), shown.distance_of(end_km + pad_km)]
    return [float(x) for x in x_range], [0.0, float(shown.thickness_of(top_mm))]


def _shared(view, shown):
    km, low, middle, high = (view.path[name].to_numpy() for name in ("odometer_km", "low_mm", "middle_mm", "high_mm"))
    x, at = shown.distance_of(km), shown.thickness_of
    said = [
        f"shared estimate, {plain(view.position['label'])}<br>{shown.thickness_text(m)}, 8 times in 10 "
        f"{shown.thickness_text(a)} to {shown.thickness_text(b)}<br>at {shown.forecast_text(k)}"
        for k, a, m, b in zip(km, low, middle, high, strict=True)
    ]
    band = _trace(
        "band", x=_shown_list([*x, *x[::-1]]), y=_shown_list([*at(high), *at(low)[::-1]]), mode="lines", fill="toself",
        fillcolor=BAND, line={"width": 0}, hoverinfo="skip",
    )  # fmt: skip
    line = _trace(
        "middle", x=_shown_list(x), y=_shown_list(at(middle)), mode="lines", line={"color": BLUE, "width": 3}, text=said,
        hovertemplate="%{text}<extra></extra>",
    )  # fmt: skip
    return [band, line]


def _own(view, shown):
    x, y, low, high = [], [], [], []
    if view.own is not None:
        mine = view.readings[view.readings["running"] & view.readings["label"].eq(view.position["label"])]["odometer_km"]
        km = np.linspace(mine.min(), view.path["odometer_km"].max() if len(view.path) else mine.max(), 40)
        x, y = shown.distance_of(km), shown.thickness_of(view.own.at(km))
        if view.own_readings >= 3:
            low, high = (shown.thickness_of(edge) for edge in view.own.band(km, new_reading=False))
    round_trip = [*x, *x[::-1]] if len(low) else []
    band = _trace(
        "own band", x=_shown_list(round_trip), y=_shown_list([*high, *low[::-1]]), mode="lines", fill="toself",
        fillcolor=OWN_BAND, line={"width": 0.8, "color": PAST, "dash": "dot"}, hoverinfo="skip",
    )  # fmt: skip
    line = _trace(
        "own line", x=_shown_list(x), y=_shown_list(y), mode="lines", line={"color": INK, "width": 1.4, "dash": "dash"},
        hoverinfo="skip",
    )  # fmt: skip
    return [band, line]


def _window(view, shown):
    """The due window as a bar on the replace line, even odds as a white mark on it."""
    row = view.row
    km = [row["due_odometer_early_km"], row["due_odometer_late_km"]] if view.forecast else []
    middle = [row["due_odometer_km"]] if view.forecast else []
    y = float(shown.thickness_of(view.replace_mm))
    said = f"due window of the axle, 8 times in 10<br>{shown.between_text(*km)}" if km else ""
    bar = _trace(
        "due window", x=_shown_list([shown.distance_of(k) for k in km]), y=[y] * len(km), mode="lines",
        line={"color": DEEP, "width": 11}, text=[said] * len(km), hovertemplate="%{text}<extra></extra>",
    )  # fmt: skip
    even = _trace(
        "even odds", x=_shown_list([shown.distance_of(k) for k in middle]), y=[y] * len(middle), mode="markers",
        marker={"symbol": "line-ns", "size": 11, "line": {"width": 3, "color": PAPER}},
        text=[f"even odds by {shown.forecast_text(k)}" for k in middle], hovertemplate="%{text}<extra></extra>",
    )  # fmt: skip
    return [bar, even]


def _points(readings, shown):
    """The readings (grey = an earlier life), those left out, and the key: shape = position, filled left, open right."""
    misfit = readings["misfit"].to_numpy(dtype=bool)
    fits, out = readings[~misfit], readings[misfit]
    side, role = _side_and_role(fits)
    color = np.where(fits["running"].to_numpy(dtype=bool), BLUE, PAST).tolist()
    opened = [s == 1 for s in side]
    marker = {
        "symbol": [SYMBOLS[r] + ("-open" if o else "") for r, o in zip(role, opened, strict=True)],
        "size": [12 if o else 8 for o in opened], "color": color, "opacity": 1,
        "line": {"width": [1.8 if o else 0.0 for o in opened], "color": color},
    }  # fmt: skip
    points = _trace(
        "readings", mode="markers", x=_shown_list(shown.distance_of(fits["odometer_km"])), marker=marker,
        y=_shown_list(shown.thickness_of(fits["value_mm"])), text=_hover(fits, shown), hovertemplate="%{text}<extra></extra>",
    )  # fmt: skip
    left_out = _trace(
        "left out", mode="markers", x=_shown_list(shown.distance_of(out["odometer_km"])), text=_hover(out, shown),
        y=_shown_list(shown.thickness_of(out["value_mm"])), hovertemplate="%{text}<br>left out of the fit<extra></extra>",
        marker={"symbol": "x-thin", "size": 10, "line": {"width": 2, "color": QUIET}}, showlegend=bool(len(out)),
    )  # fmt: skip
    there = dict(zip(zip(side, role, strict=True), fits["label"], strict=True))
    return [points, left_out, *(_key(s, r, there.get((s, r), "")) for s in range(len(SIDES)) for r in range(len(ROLES)))]


def _side_and_role(readings):
    """Place in ``SIDES`` and in ``ROLES`` of each reading."""
    roles = {part: place for place, parts in enumerate(ROLES) for part in parts}
    return [SIDES.index(side) for side in readings["side"]], [roles[part] for part in readings["part"]]


def _key(side, role, label):
    """Legend entry of a position: a trace without points."""
    opened = SIDES[side] == "right"
    return _trace(
        "key", mode="markers", x=[None], y=[None], hoverinfo="skip",
        marker={"symbol": SYMBOLS[role] + ("-open" if opened else ""), "size": 12 if opened else 8, "color": BLUE,
                "line": {"width": 1.8 if opened else 0, "color": BLUE}},
    ) | {"name": plain(label), "showlegend": bool(label)}  # fmt: skip


def _hover(readings, shown):
    """What a reading says when pointed at: as written, where from, and the shared estimate there."""
    names = ["label", "written", "visit_id", "date", "odometer_km", "row", "fitted_mm"]
    return [
        f"<b>{plain(label)}: {plain(written)} as written</b><br>visit {plain(visit)}, {day_text(date)}, {shown.distance_text(km)}"
        f"<br>measurements, line {int(row)}" + (f"<br>shared estimate there {shown.thickness_text(mm)}" if mm == mm else "")
        for label, written, visit, date, km, row, mm in readings[names].itertuples(index=False)
    ]


def _fitted(view, shown, x_range):
    """Earlier lives shaded in turn, and a label where each set was fitted; an older label that would run into a newer goes."""
    x = _shown_list(shown.distance_of(view.lives["km"]))
    edges = [*x, x_range[1]]
    shapes, notes, next_label = [], [], np.inf
    lives = list(view.lives[["km", "words", "running"]].itertuples(index=False))
    for i in reversed(range(len(lives))):
        km, words, running = lives[i]
        if i % 2 == len(x) % 2 and not running:
            shapes.append({"type": "rect", "x0": x[i], "x1": edges[i + 1], "y0": 0, "y1": 1, "yref": "paper", "fillcolor": SHADE,
                           "line": {"width": 0}, "layer": "below"})  # fmt: skip
        shapes.append(_rule([x[i]] * 2, [0, 1], PAST, 1, "dot", yref="paper"))
        if x[i] + LABEL_WIDTH * (x_range[1] - x_range[0]) <= next_label:
            text = f"{plain(words)}<br>{shown.distance_text(km)}"
            notes.append(_note(x[i], 1, text, QUIET, yref="paper", xanchor="left", yanchor="top", xshift=5))
            next_label = x[i]
    return shapes, notes


def _wear_limits(view, shown):
    """The limit lines: level in mm, label, dash."""
    recorded = f"replace at {shown.thickness_text(view.recorded_replace_mm)}"
    if view.replace_default:
        recorded += "<br>(the kit's own)"
    out = [(view.recorded_replace_mm, recorded, "solid")]
    if view.tried_mm is not None:
        out.append((view.tried_mm, f"what if: {shown.thickness_text(view.tried_mm)}", "dash"))
    discard = view.position["discard_at_mm"]
    if pd.notna(discard):
        out.append((discard, f"discard at {shown.thickness_text(discard)}", "solid"))
    return [(float(shown.thickness_of(mm)), text, dash) for mm, text, dash in out]


def _limit_lines(limits, y_range):
    """Ink lines across the picture, each labelled at its right end; labels pushed apart where lines are close."""
    shapes, notes, floor = [], [], np.inf
    room = 0.055 * (y_range[1] - y_range[0])
    for level, text, dash in sorted(limits, key=lambda limit: -limit[0]):
        shapes.append(_rule([0, 1], [level, level], INK, 0.8, dash, xref="paper"))
        floor = min(level, floor - room)
        notes.append(_note(1, floor, text, xref="paper", xanchor="left", xshift=8))
    return shapes, notes


def _as_of(view, shown, x_range):
    """The as-of line with its date, a little under the labels of the lives."""
    if pd.isna(view.row["odometer_km"]):
        return [], []
    x = float(shown.distance_of(view.row["odometer_km"]))
    side = "right" if x > x_range[0] + 0.88 * (x_range[1] - x_range[0]) else "left"
    note = _note(x, 0.895, f"as of<br>{day_text(view.as_of)}", yref="paper", yanchor="top", xanchor=side,
                 xshift=-5 if side == "right" else 5)  # fmt: skip
    return [_rule([x, x], [0, 1], QUIET, 1.2, yref="paper")], [note | {"align": side}]


def _line_notes(view, shown, x_range):
    """Names of the two lines and the window, each at its mark."""
    notes = []
    pointer = {"showarrow": True, "arrowhead": 0, "arrowwidth": 1, "arrowcolor": PAST, "bgcolor": "rgba(255,255,255,0.8)"}
    label = plain(view.position["label"])
    if len(view.path):
        middle = view.path["middle_mm"].to_numpy()
        mm = view.replace_mm + 0.62 * max(middle[0] - view.replace_mm, 0.0)
        km = np.interp(-mm, -middle, view.path["odometer_km"])
        text = f"<b>shared estimate</b>, {label}<br>"
        if view.shows_leader:
            text += f"{shown.rate_text(view.row['rate_mm_per_10000km'])}; "
        notes.append(_note(float(shown.distance_of(km)), float(shown.thickness_of(mm)), text + "band: 8 in 10", BLUE, ax=40, ay=-42,
                           xanchor="left", **pointer))  # fmt: skip
    if view.own is not None and view.own.slope_mm_per_km < 0:
        mm = view.replace_mm + 0.22 * max(view.own.at(view.own.mean_km) - view.replace_mm, 0.0)
        x = float(shown.distance_of((mm - view.own.intercept_mm) / view.own.slope_mm_per_km))
        text = f"own line, {label}<br>{count_text(view.own_readings, 'reading')}"
        text += "; dotted edges: 8 in 10" if view.own_readings >= 3 else ""
        if x < x_range[1]:
            notes.append(_note(x, float(shown.thickness_of(mm)), text, ax=-44, ay=16, xanchor="right", **pointer))
    if view.forecast:
        x = float(shown.distance_of(view.row["due_odometer_early_km"]))
        notes.append(_note(x, float(shown.thickness_of(view.replace_mm)), "due window, 8 in 10", DEEP, xanchor="right", yanchor="top",
                           yshift=-5, xshift=4))  # fmt: skip
    return notes


def disc(view, shown: Shown, x_range: list[float]) -> go.Figure:
    """Rotor or drum readings of one axle with their limits; only a title where there is none.

    Parameters
    ----------
    view : views.wear.DiscView
    shown : Shown
    x_range : list of float
        Odometer range of the wear picture above it, in the shown unit.

    Returns
    -------
    Figure
        Traces as the last of ``wear``: ``readings``, ``left out``, nine ``key``.
    """
    return go.Figure(disc_spec(view, shown, x_range))


def disc_spec(view, shown: Shown, x_range: list[float]) -> dict:
    """``disc`` as a plain dictionary."""
    there = bool(len(view.readings))
    spec = _spec(view.headline(shown), view.behind(), 250 if there else 30, 150)
    spec["data"] = [trace | {"showlegend": False} for trace in _points(view.readings, shown)]
    levels = [*view.readings["value_mm"], *view.limits.values()] or [0.0]
    spread = max(max(levels) - min(levels), 1.0)
    y_range = [float(shown.thickness_of(min(levels) - 0.2 * spread)), float(shown.thickness_of(max(levels) + 0.25 * spread))]
    lines = [(float(shown.thickness_of(mm)), f"{name} {shown.thickness_text(mm)}", "solid") for name, mm in view.limits.items()]
    shapes, notes = _limit_lines(lines, y_range)
    for km, words in view.jobs[["start_km", "words"]].itertuples(index=False):
        x = float(shown.distance_of(km))
        shapes.append(_rule([x, x], [0, 1], PAST, 1, "dot", yref="paper"))
        notes.append(_note(x, 1, words, QUIET, yref="paper", xanchor="left", yanchor="top", xshift=5))
    newest = view.readings[view.readings["running"]].drop_duplicates("label").sort_values("value_mm", ascending=False)
    for place, (label, km, mm) in enumerate(newest[["label", "odometer_km", "value_mm"]].itertuples(index=False)):
        x = float(shown.distance_of(km))
        side = "right" if x > x_range[0] + 0.88 * (x_range[1] - x_range[0]) else "left"
        notes.append(_note(x, float(shown.thickness_of(mm)), plain(label), BLUE, xanchor=side, bgcolor=PAPER, borderpad=0,
                           xshift=-10 if side == "right" else 10, yshift=9 - 18 * place if len(newest) > 1 else 0))  # fmt: skip
    spec["layout"] |= {
        "xaxis": _axis(f"odometer [{shown.distance}]", tickformat=",d", range=x_range, visible=there),
        "yaxis": _axis(f"{view.what} [{shown.thickness_axis}]", range=y_range, nticks=5, visible=there),
        "shapes": shapes, "annotations": notes,
    }  # fmt: skip
    spec["layout"]["margin"]["t"] -= 20
    return spec


# --- schedule ---------------------------------------------------------------------------------------------------------


def calendar(rows: pd.DataFrame, as_of, title: str, note: str, shown: Shown) -> go.Figure:
    """Calendar of due windows, one bar an axle, in the order of ``rows``.

    Parameters
    ----------
    rows : DataFrame
        Rows of the schedule table, with ``next_visit_date``.
    as_of : Timestamp
    title, note : str
        The answer in words, and its level.
    shown : Shown

    Returns
    -------
    Figure
        Traces by ``meta``: ``calendar`` (unseen), ``due window`` (bars), ``even odds``, ``next usual visit``, ``began before`` (windows that reach back
        before the picture, or lie there), ``right`` (the words at the right).
    """
    return go.Figure(calendar_spec(rows, as_of, title, note, shown))


def calendar_spec(rows: pd.DataFrame, as_of, title: str, note: str, shown: Shown) -> dict:
    """``calendar`` as a plain dictionary."""
    as_of = pd.Timestamp(as_of)
    spec = _spec(title, note, max(len(rows), 3) * ROW_PX + FIRST_ROW_PX, 206)
    spec["data"] = _calendar_traces(rows, _calendar_range(rows, as_of), shown)
    labels = [f"{plain(_short(v))} {plain(a)}" for v, a in zip(rows["vehicle_id"], rows["axle"], strict=True)]
    places, edge = list(range(len(rows))), [max(len(rows), 1) - 0.4, -0.6]
    head = {"xref": "paper", "yref": "paper", "yanchor": "bottom"}
    right = "at discard before next visit<br>· readings of this life" if len(rows) else "no axle here:<br>widen the filters above"
    notes = [
        _note(_day(as_of), 1, f"as of {day_text(as_of)}", yref="paper", yanchor="bottom", xanchor="left", xshift=-2),
        _note(1, 1, right, QUIET, xanchor="left", xshift=8, **head),
    ]
    spec["layout"] |= {
        "xaxis": _axis("", range=[_day(day) for day in _calendar_range(rows, as_of)], type="date", tickformat="%b<br>%Y", ticks="")
        | {"showgrid": True, "gridcolor": GRID, "showline": False},
        "yaxis": _axis("", range=edge, tickmode="array", tickvals=places, ticktext=labels, ticks="", automargin=True,
                       ticklabelstandoff=8),
        "shapes": [_rule([_day(as_of)] * 2, [0, 1], QUIET, 1.2, yref="paper")], "annotations": notes, "barmode": "overlay",
    }  # fmt: skip
    return spec


def _calendar_traces(rows, span, shown):
    """The traces; the first, which nobody sees, keeps the axis one of dates when the others change or are empty."""
    y = np.arange(len(rows))
    there = rows["due_date"].notna().to_numpy()
    gone = there & (rows["due_date_late"] < span[0]).to_numpy()
    before = there & (rows["due_date_early"] < span[0]).to_numpy()
    bars = rows[there & ~gone]
    start = bars["due_date_early"].clip(lower=span[0])
    passed = [
        f"   window passed: {day_text(early)} to {day_text(late)}" if late < span[0] else ""
        for early, late in zip(rows.loc[before, "due_date_early"], rows.loc[before, "due_date_late"], strict=True)
    ]
    here = y[there & ~gone].tolist()
    return [
        _trace("calendar", x=[_day(day) for day in span], y=[0, 0], mode="markers", opacity=0, hoverinfo="skip"),
        {"type": "bar", "meta": "due window", "name": "due window", "orientation": "h", "y": here, "base": _days(start),
         "x": ((bars["due_date_late"] - start).dt.total_seconds() * 1000).tolist(), "width": 0.56,
         "marker": {"color": risk_colors(bars["risk_before_next_visit"]), "line": {"width": 0}}, "showlegend": False,
         "text": _calendar_hover(bars, shown), "textposition": "none", "hovertemplate": "%{text}<extra></extra>"},
        _trace("even odds", x=_days(bars["due_date"]), y=here, mode="markers", hoverinfo="skip",
               marker={"symbol": "line-ns", "size": 14, "line": {"width": 3, "color": PAPER}}),
        _trace("next usual visit", x=_days(rows["next_visit_date"]), y=y.tolist(), mode="markers",
               marker={"symbol": "line-ns", "size": 16, "line": {"width": 1.6, "color": INK}},
               text=[f"next usual visit {day_text(day)}" for day in rows["next_visit_date"]],
               hovertemplate="%{text}<extra></extra>"),
        _trace("began before", x=[_day(span[0])] * int(before.sum()), y=y[before].tolist(), mode="markers+text", cliponaxis=False,
               marker={"symbol": "triangle-left", "size": 10, "color": risk_colors(rows.loc[before, "risk_before_next_visit"])},
               text=passed, textposition="middle right", textfont={"size": 12, "color": INK}, hoverinfo="skip"),
        _trace("right", x=[_day(span[1])] * len(rows), y=y.tolist(), mode="text", text=_right_words(rows), hoverinfo="skip",
               textposition="middle right", textfont={"size": 12, "color": INK}, cliponaxis=False),
    ]  # fmt: skip


def _day(date) -> str:
    return f"{date:%Y-%m-%d}"


def _days(dates) -> list[str]:
    return dates.dt.strftime("%Y-%m-%d").tolist()


def _short(text, most=24):
    return text if len(text) <= most else text[: most - 1] + "…"


def _calendar_range(rows, as_of):
    """From a little before the as-of date, or two months back where windows began earlier, to the last window's end."""
    ends = pd.concat([rows["due_date_late"], rows["next_visit_date"]]).dropna()
    end = min(ends.max() if len(ends) else as_of, as_of + pd.DateOffset(years=4))
    end = max(end, as_of + pd.Timedelta(days=90))
    first = rows["due_date_early"].clip(lower=as_of - pd.Timedelta(days=60)).min()
    first = as_of if pd.isna(first) else min(first, as_of)
    room = 0.015 * (end - first)
    return (first - room).floor("D"), (end + room).ceil("D")


def risk_colors(chance: pd.Series) -> list[str]:
    """Colour of each chance on the one blue scale; grey where it is not known."""
    step = np.searchsorted(RISK_EDGES, chance.fillna(0.0), side="right")
    return np.where(chance.isna(), NO_RISK, np.array(RISK_BLUES)[step]).tolist()


def _right_words(rows):
    return [
        f"  {chance_text(chance) or 'no discard limit'} · {count_text(int(readings), 'reading')}"
        if due
        else "  no forecast, see the table"
        for due, chance, readings in zip(rows["due_date"].notna(), rows["risk_before_next_visit"], rows["readings"], strict=True)
    ]


def _calendar_hover(rows, shown):
    return [
        f"<b>{plain(r.vehicle_id)} {plain(r.axle)}</b>: {plain(r.governing_side)} {plain(r.governing_part.replace('_', ' '))} leads<br>"
        f"even odds by {day_text(r.due_date)}, {shown.forecast_text(r.due_odometer_km)}<br>"
        f"8 times in 10 between {day_text(r.due_date_early)} and {day_text(r.due_date_late)}<br>"
        f"{count_text(int(r.readings), 'reading')} of this life, basis {plain(r.basis)}"
        for r in rows.itertuples()
    ]


# --- records ----------------------------------------------------------------------------------------------------------

SEVERITY_BLUES = {"refused": DEEP, "left_out": "#3182bd", "note": "#c6dbef"}
RULES_SHOWN = 12


def rules(counts: pd.DataFrame) -> go.Figure:
    """How often each rule spoke, one bar a rule.

    Parameters
    ----------
    counts : DataFrame
        ``severity, code, findings`` (``views.records.by_rule``).

    Returns
    -------
    Figure
        One trace, ``findings``.
    """
    return go.Figure(rules_spec(counts))


def rules_spec(counts: pd.DataFrame) -> dict:
    """``rules`` as a plain dictionary."""
    shown = counts.head(RULES_SHOWN)
    number = int(counts["findings"].sum())
    title = (
        f"{count_text(number, 'finding')} under {count_text(len(counts), 'rule')}" if number else "No finding: nothing stood out"
    )
    note = "darker = more serious: refused, left out, note (used all the same)" if number else ""
    if len(counts) > RULES_SHOWN:
        note += f"; the {RULES_SHOWN} first of {len(counts)} rules"
    spec = _spec(title, note, ROW_PX * len(shown) + 40, 60)
    y = list(range(len(shown)))
    words = [_findings_words(severity, n) for severity, n in zip(shown["severity"], shown["findings"], strict=True)]
    spec["data"] = [
        {"type": "bar", "meta": "findings", "name": "findings", "orientation": "h", "x": shown["findings"].tolist(), "y": y,
         "width": 0.56, "marker": {"color": [SEVERITY_BLUES[name] for name in shown["severity"]]}, "showlegend": False,
         "text": words, "textposition": "outside", "cliponaxis": False, "textfont": {"size": 12, "color": INK},
         "hoverinfo": "skip"},
    ]  # fmt: skip
    most = max([*shown["findings"], 1])
    spec["layout"] |= {
        "xaxis": _axis("", range=[0, 1.15 * most], visible=False),
        "yaxis": _axis("", range=[max(len(shown), 1) - 0.4, -0.6], tickmode="array", tickvals=y, ticktext=[plain(c) for c in shown["code"]],
                       ticks="", automargin=True, ticklabelstandoff=8) | {"showline": bool(number)},
    }  # fmt: skip
    spec["layout"]["margin"] |= {"b": 8, "t": spec["layout"]["margin"]["t"] - 20}
    return spec


def _findings_words(severity, number):
    return count_text(number, "note") if severity == "note" else f"{number:,} {severity.replace('_', ' ')}"
