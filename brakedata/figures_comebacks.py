"""Pictures of comebacks: the funnel, the share by distance, what goes with them, over time, and what they took.

As in `figures`: pure functions, the title is the answer in words, the same traces in the same order. Nothing is drawn at a rate
for a group with too few jobs.
"""

import numpy as np
import pandas as pd
import plotly.graph_objects as go

from brakedata.comebacks.explain import statement
from brakedata.figures import (
    BAND,
    BLUE,
    DEEP,
    GRID,
    INK,
    PAPER,
    PAST,
    QUIET,
    SHADE,
    _axis,
    _days,
    _note,
    _rule,
    _short,
    _shown_list,
    _spec,
    _trace,
    plain,
)  # fmt: skip
from brakedata.shown import Shown, count_text, day_text
from brakedata.views import comebacks as view

STATES = {"beyond": (DEEP, DEEP), "within": ("#6baed6", BLUE), "few": (PAPER, PAST)}
"""Fill and edge of a point of the funnel."""
LETTER_PX, LINE_PX = 7.0, 16.0
GAP = "\u00a0\u00a0\u00a0"
"""Between a point and its words."""
FUNNEL_PX = (1080, 420)
"""Width and height of the funnel's plot at a desktop's width, by which labels are kept apart."""
PLACES = {"middle right": (1, 0), "middle left": (-1, 0), "top center": (0, 1), "bottom center": (0, -1)}
ROW_PX = 46
RATIO_RANGE = (1 / 12, 24.0)
RATIO_TICKS = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20)
APART = 0.17
WATCHED_TICKS = 6


# --- funnel


def funnel(funnel: view.Funnel, title: str, note: str, within: str) -> go.Figure:
    """Rate of each level by how many jobs were watched, with where chance alone would put it.

    Parameters
    ----------
    funnel : views.comebacks.Funnel
    title, note : str
        The answer in words, and what stands behind it.
    within : str
        The distance within which a comeback counts, with its unit.

    Returns
    -------
    Figure
        Traces by ``meta``: ``low998``, ``high998``, ``low95``, ``high95`` (between which a level no different from the shop falls,
        with that chance), ``limits`` (of each level), ``levels``, ``too few`` (below the axis, no rate), ``words`` (beside the points).
    """
    return go.Figure(funnel_spec(funnel, title, note, within))


def funnel_spec(funnel: view.Funnel, title: str, note: str, within: str) -> dict:
    """``funnel`` as a plain dictionary."""
    spec = _spec(title, note, FUNNEL_PX[1] + 80, 118)
    points, edges, shop = funnel.points, funnel.limits, funnel.shop_risk
    rated, few = points[points["rate"].notna()], points[points["rate"].isna()]
    top = 100 * max([1.25 * shop, *rated["rate"] * 1.12, *rated["high"].clip(upper=1.0) * 1.03, 0.05])
    end = float(edges["watched_jobs"].iloc[-1])
    floor = -0.075 * top if len(few) else 0.0
    x_range, y_range = [0.0, end], [1.6 * floor, top]
    spec["data"] = [
        *_between(edges["watched_jobs"], edges, "998", SHADE, "#9ecae1"),
        *_between(edges["watched_jobs"], edges, "95", "rgba(66,146,198,0.10)", "#6baed6"),
        _trace("limits", x=_shown_list(rated["watched_jobs"]), y=_shown_list(100 * rated["rate"]), mode="markers", hoverinfo="skip",
               marker={"size": 1, "color": PAST},
               error_y={"type": "data", "symmetric": False, "array": _shown_list(100 * (rated["high"] - rated["rate"])),
                        "arrayminus": _shown_list(100 * (rated["rate"] - rated["low"])), "color": PAST, "thickness": 1.2, "width": 0}),
        _points(rated, 100 * rated["rate"], "levels"),
        _points(few, pd.Series(floor, index=few.index), "too few"),
        _words(rated, few, floor, x_range, y_range),
    ]  # fmt: skip
    last = edges.iloc[-1]
    lines = [(100 * last["high998"], "99.8 in 100", QUIET), (100 * last["high95"], "95 in 100", QUIET),
             (100 * shop, f"whole shop<br>{view.share_text(shop)}", INK), (100 * last["low95"], "95 in 100", QUIET),
             (100 * last["low998"], "99.8 in 100", QUIET)]  # fmt: skip
    spec["layout"] |= {
        "xaxis": _axis(f"brake jobs watched for {within} (those still being watched count in part)", range=x_range, tickformat=",d"),
        "yaxis": _axis(f"come back within {within} [%]", range=y_range, tickvals=[t for t in np.arange(0, 101, 10) if t <= top]
                       if top > 25 else [t for t in np.arange(0, 30, 5) if t <= top]),
        "shapes": [_rule([0, end], [100 * shop] * 2, INK, 0.8) | {"layer": "above"}, *([_rule([0, end], [0, 0], PAST, 0.8)] if len(few) else [])],
        "annotations": _line_labels(lines, y_range),
    }  # fmt: skip
    return spec


def _between(x, edges, chance, fill, line):
    """The two limits of a chance, shaded between."""
    shade = {"low": {}, "high": {"fill": "tonexty", "fillcolor": fill}}
    return [
        _trace(f"{side}{chance}", x=_shown_list(x), y=_shown_list(100 * edges[f"{side}{chance}"]), mode="lines", hoverinfo="skip",
               line={"width": 1.2, "color": line}, **more)
        for side, more in shade.items()
    ]  # fmt: skip


def _points(points, y, meta):
    colors = [STATES[state] for state in points["state"]]
    said = [
        f"<b>{plain(r.level)}</b><br>{count_text(int(r.jobs), 'job')}"
        + (
            f"<br>{view.share_text(r.rate)} come back ({view.between_text(r.low, r.high)})"
            if r.rate == r.rate
            else f"<br>{plain(r.said)}"
        )
        for r in points.itertuples()
    ]
    return _trace(
        meta, x=_shown_list(points["watched_jobs"]), y=_shown_list(y), mode="markers", text=said, cliponaxis=False,
        hovertemplate="%{text}<extra></extra>",
        marker={"size": 13, "color": [fill for fill, _ in colors], "line": {"width": 2, "color": [edge for _, edge in colors]}},
    )  # fmt: skip


def _words(rated, few, floor, x_range, y_range):
    """Names and what is said beside the points, each on a side where it covers no other."""
    x = [*rated["watched_jobs"], *few["watched_jobs"]]
    y = [*(100 * rated["rate"]), *[floor] * len(few)]
    text = [_said(*pair) for pair in zip([*rated["level"], *few["level"]], [*rated["said"], *few["said"]], strict=True)]
    px = [FUNNEL_PX[0] * (v - x_range[0]) / (x_range[1] - x_range[0]) for v in x]
    py = [FUNNEL_PX[1] * (v - y_range[0]) / (y_range[1] - y_range[0]) for v in y]
    return _trace("words", x=_shown_list(x), y=_shown_list(y), mode="text", text=[f"{GAP}{plain(t)}{GAP}" for t in text], hoverinfo="skip",
                  textposition=sides(px, py, text), textfont={"size": 13, "color": INK}, cliponaxis=False)  # fmt: skip


def _said(level, said):
    return f"{level}: {said}" if said else level


def sides(x, y, texts) -> list[str]:
    """On which side of its point each text stands, so that it covers no point and no text before it where it can.

    Parameters
    ----------
    x, y : list of float, shape (n,)
        Points in px, from the lower left.
    texts : list of str, shape (n,)
    """
    taken = [(px - 8, px + 8, py - 8, py + 8) for px, py in zip(x, y, strict=True)]
    chosen = []
    for place, (px, py, text) in enumerate(zip(x, y, texts, strict=True)):
        boxes = {side: _box(px, py, LETTER_PX * (len(text) + 3), *way) for side, way in PLACES.items()}
        others = taken[:place] + taken[place + 1 :]
        free = [side for side, box in boxes.items() if box[0] > -30 and not any(_overlap(box, other) for other in others)]
        chosen.append((free or ["middle right"])[0])
        taken.append(boxes[chosen[-1]])
    return chosen


def _box(x, y, width, right, up):
    """Left, right, lower and upper edge of a text beside a point."""
    middle = x + right * (width / 2 + 8)
    return middle - width / 2, middle + width / 2, y + up * LINE_PX - LINE_PX / 2, y + up * LINE_PX + LINE_PX / 2


def _overlap(one, other):
    return one[0] < other[1] and other[0] < one[1] and one[2] < other[3] and other[2] < one[3]


def _line_labels(lines, y_range):
    """Labels at the right end of lines, from the top, pushed apart where lines are close; those out of sight are left out."""
    room, notes, lowest = 0.052 * (y_range[1] - y_range[0]), [], np.inf
    for level, text, color in lines:
        if np.isfinite(level) and y_range[0] <= level <= y_range[1]:
            lowest = min(level, lowest - room)
            notes.append(_note(1, lowest, text, color, xref="paper", xanchor="left", xshift=8))
            lowest -= room * text.count("<br>") / 2
    return notes


# --- share by distance


def by_distance(level: pd.DataFrame, shop: pd.DataFrame, title: str, note: str, name: str, shown: Shown) -> go.Figure:
    """Share that has come back by each distance, with its limits, and beneath how many jobs were still watched.

    Parameters
    ----------
    level, shop : DataFrame
        ``views.comebacks.by_distance`` of a level, and of the whole shop.
    title, note : str
    name : str
        What the level is called; empty for the whole shop.
    shown : Shown

    Returns
    -------
    Figure
        Traces by ``meta``: ``band`` and ``share`` of the level, ``shop`` (empty where it is the level). The numbers beneath are notes.
    """
    return go.Figure(by_distance_spec(level, shop, title, note, name, shown))


def by_distance_spec(level: pd.DataFrame, shop: pd.DataFrame, title: str, note: str, name: str, shown: Shown) -> dict:
    """``by_distance`` as a plain dictionary."""
    rows = [(name or "whole shop", level), *([("whole shop", shop)] if name else [])]
    spec = _spec(title, note, 400 + 22 * len(rows), 150)
    x = shown.distance_of(level["km"])
    end = float(shown.distance_of(max(level["km"].iloc[-1], shop["km"].iloc[-1], 1.0)))
    hover = [
        f"{view.share_text(risk)} came back within {shown.distance_text(km)}<br>95 times in 100 {view.between_text(low, high)}<br>"
        f"{count_text(int(watched), 'job')} still watched"
        for km, risk, low, high, watched in level.itertuples(index=False)
    ]
    spec["data"] = [
        _step_band(x, level),
        _trace("share", x=_shown_list(x), y=_shown_list(100 * level["risk"]), mode="lines", text=hover,
               hovertemplate="%{text}<extra></extra>", line={"color": BLUE, "width": 3, "shape": "hv"}),
        _trace("shop", x=_shown_list(shown.distance_of(shop["km"])) if name else [], mode="lines", hoverinfo="skip",
               y=_shown_list(100 * shop["risk"]) if name else [], line={"color": INK, "width": 1.4, "shape": "hv", "dash": "dash"}),
    ]  # fmt: skip
    top = 100 * max(np.nanmax([*level["high"].where(level["watched"] > 0), level["risk"].max(), shop["risk"].max()]), 0.02)
    lines = [(100 * curve["risk"].iloc[-1], f"{plain(label)} {view.share_text(curve['risk'].iloc[-1])}", BLUE if not i else INK)
             for i, (label, curve) in enumerate(rows)]  # fmt: skip
    y_range = [0.0, float(min(1.1 * top, 101))]
    spec["layout"] |= {
        "xaxis": _axis(f"distance since the job [{shown.distance}]", range=[0, end], tickformat=",d"),
        "yaxis": _axis("share that has come back [%]", range=y_range, rangemode="nonnegative"),
        "shapes": [], "annotations": [*_line_labels(sorted(lines, reverse=True), y_range), *_watched(rows, end, shown)],
    }  # fmt: skip
    spec["layout"]["margin"] |= {"b": 92 + 22 * len(rows), "l": 118}
    spec["layout"]["height"] += 36
    return spec


def _step_band(x, level):
    """The 95 % limits as a band of steps."""
    x = np.asarray(x, dtype=float)
    low, high = (100 * level[name].to_numpy() for name in ("low", "high"))
    corners = np.repeat(x, 2)[1:]
    there = np.isfinite(low) & np.isfinite(high)
    low, high = np.repeat(np.where(there, low, 0), 2)[:-1], np.repeat(np.where(there, high, 100), 2)[:-1]
    return _trace("band", x=_shown_list([*corners, *corners[::-1]]), y=_shown_list([*high, *low[::-1]]), mode="lines", fill="toself",
                  fillcolor=BAND, line={"width": 0}, hoverinfo="skip")  # fmt: skip


def _watched(rows, end, shown):
    """Under the axis: how many jobs are still watched at even distances, a row of numbers a curve."""
    under = {"yref": "paper", "yanchor": "top"}
    notes = [_note(0, 0, "jobs still watched", QUIET, xref="paper", xanchor="left", yshift=-58, **under)]
    for row, (name, curve) in enumerate(rows):
        down = {"yshift": -78 - 20 * row, **under}
        notes.append(_note(0, 0, plain(_short(name, 16)), QUIET, xref="paper", xanchor="right", xshift=-14, **down))
        at = np.linspace(0, end, WATCHED_TICKS)
        place = np.searchsorted(shown.distance_of(curve["km"].to_numpy()), at * (1 + 1e-9), side="right") - 1
        counts = np.where(at <= shown.distance_of(curve["km"].iloc[-1]) * (1 + 1e-9), curve["watched"].iloc[place], 0)
        notes += [_note(float(km), 0, f"{int(n):,}", QUIET, xanchor="center", **down) for km, n in zip(at, counts, strict=True)]
    return notes


# --- what goes with it


def ratios(rows: pd.DataFrame, title: str, note: str) -> go.Figure:
    """How many times as often jobs of each level come back as the others: alone, and other things held equal.

    Parameters
    ----------
    rows : DataFrame
        ``views.comebacks.ratios``.
    title, note : str

    Returns
    -------
    Figure
        Traces by ``meta``: ``alone`` and ``held equal``, both with 95 % limits.
    """
    return go.Figure(ratios_spec(rows, title, note))


def ratios_spec(rows: pd.DataFrame, title: str, note: str) -> dict:
    """``ratios`` as a plain dictionary."""
    spec = _spec(title, note, max(len(rows), 1) * ROW_PX + 110, 230)
    y = np.arange(len(rows))
    spec["data"] = [
        _ratio(rows, y - APART, "crude", "alone", PAPER, PAST, 1.4),
        _ratio(rows, y + APART, "adjusted", "held equal", BLUE, BLUE, 2.6),
    ]
    right = [
        _note(1, place, f"{plain(said)}<br><span style='color:{QUIET}'>{back:,} of {count_text(int(jobs), 'job')} came back</span>",
              xref="paper", xanchor="left", xshift=10)
        for place, (said, back, jobs) in enumerate(rows[["said", "comebacks", "jobs"]].itertuples(index=False))
    ]  # fmt: skip
    head = {"xref": "paper", "yref": "paper", "yanchor": "bottom", "yshift": 6}
    key = f"<b style='color:{BLUE}'>●</b> other things held equal   <b style='color:{PAST}'>○</b> alone"
    notes = [
        _note(1, 1, "held equal, 95 times in 100 between", QUIET, xanchor="left", xshift=10, **head),
        _note(0, 1, key, QUIET, xanchor="left", **head),
    ]
    spec["layout"] |= {
        "xaxis": _axis("times as often as all other jobs (1 = as often; each step doubles or halves)", type="log", showgrid=True, gridcolor=GRID,
                       range=[float(np.log10(edge)) for edge in RATIO_RANGE], tickvals=list(RATIO_TICKS),
                       ticktext=[f"{tick:g}" for tick in RATIO_TICKS]),
        "yaxis": _axis("", range=[max(len(rows), 1) - 0.4, -0.6], tickmode="array", tickvals=y.tolist(), ticks="", automargin=True,
                       ticktext=[plain(_short(name, 34)) for name in rows["name"]], ticklabelstandoff=8),
        "shapes": [_rule([1, 1], [0, 1], INK, 1.0, yref="paper")], "annotations": [*right, *notes],
    }  # fmt: skip
    return spec


def _ratio(rows, y, name, meta, fill, edge, width):
    """One kind of ratio; where limits run out of the picture their line does too."""
    middle, low, high = (rows[column].to_numpy(dtype=float) for column in (name, f"{name}_low", f"{name}_high"))
    said = [statement(*three) for three in zip(middle, low, high, strict=True)]
    return _trace(
        meta, x=_shown_list(middle), y=_shown_list(y), mode="markers", text=said, hovertemplate=f"{meta}: %{{text}}<extra></extra>",
        marker={"size": 10, "color": fill, "line": {"width": 2, "color": edge}},
        error_x={"type": "data", "symmetric": False, "array": _shown_list(np.minimum(high, 1e4) - middle),
                 "arrayminus": _shown_list(middle - np.maximum(low, 1e-4)), "color": edge, "thickness": width, "width": 0},
    )  # fmt: skip


# --- over time


def over_time(trend, title: str, note: str) -> go.Figure:
    """Comebacks beyond those to be expected, summed over the jobs by date, and the jobs between two comebacks.

    Parameters
    ----------
    trend : comebacks.over_time.Trend
    title, note : str

    Returns
    -------
    Figure
        Traces by ``meta``: ``excess``, ``high`` and ``low`` (its limits), ``between`` (a dot a comeback), ``between high`` and
        ``between low`` (limits).
    """
    return go.Figure(over_time_spec(trend, title, note))


def over_time_spec(trend, title: str, note: str) -> dict:
    """``over_time`` as a plain dictionary."""
    spec = _spec(title, note, 560, 130)
    excess, between = trend.excess, trend.between
    limit = {"mode": "lines", "hoverinfo": "skip", "line": {"color": INK, "width": 1.0, "dash": "dot"}}
    ends = _days(pd.concat([between["date"].head(1), between["date"].tail(1)]))
    said = [
        f"{n:.1f} jobs since the comeback before it (as if watched all the way)<br>job of {day_text(day)}"
        for n, day in between[["jobs_between", "date"]].itertuples(index=False)
    ]
    edge = {name: float(between[name].iloc[0]) if len(between) else np.nan for name in ("low", "high")}
    dots = np.where(between["outside"], DEEP, "#9ecae1").tolist()
    spec["data"] = [
        _trace("excess", x=_days(excess["date"]), y=_shown_list(excess["excess"]), mode="lines", line={"color": BLUE, "width": 2.4},
               hovertemplate="%{y:+.1f} comebacks beyond expectation by %{x}<extra></extra>"),
        *(_trace(name, x=_days(excess["date"]), y=_shown_list(excess[name]), connectgaps=False, **limit) for name in ("high", "low")),
        _trace("between", x=_days(between["date"]), y=_shown_list(between["jobs_between"]), mode="markers", text=said, xaxis="x", yaxis="y2",
               hovertemplate="%{text}<extra></extra>", marker={"size": 8, "color": dots, "line": {"width": 1, "color": BLUE}}),
        *(_trace(f"between {name}", x=ends, y=[edge[name]] * len(ends), xaxis="x", yaxis="y2", **limit) for name in ("high", "low")),
    ]  # fmt: skip
    shapes, notes = _change(trend)
    for name in ("high", "low") if len(between) else ():
        if excess[name].notna().any():
            far = excess.loc[excess[name].abs().idxmax()]
            text, side = ("better since then", "bottom") if name == "high" else ("worse since then", "top")
            notes.append(
                _note(f"{far['date']:%Y-%m-%d}", float(far[name]), f"beyond: {text}", QUIET, yanchor=side, xanchor="center")
            )
        notes.append(_note(1, float(np.log10(edge[name])), f"limit: {_jobs_apart(edge[name])}", QUIET, xref="paper", yref="y2", xanchor="left",
                           xshift=8))  # fmt: skip
    spec["layout"] |= {
        "xaxis": _axis("date of the job", type="date", anchor="y2"),
        "yaxis": _axis("comebacks beyond expectation", domain=[0.44, 1.0], tickformat="+,.1~f", zeroline=True, zerolinecolor=PAST),
        "yaxis2": _axis("jobs between comebacks", domain=[0.0, 0.34], type="log", nticks=5, tickformat=",.3~g"),
        "shapes": shapes, "annotations": notes,
    }  # fmt: skip
    return spec


def _jobs_apart(jobs: float) -> str:
    """``23 jobs``; fewer than a hundredth of one is as good as none."""
    if jobs < 0.01:
        return "under 0.01 jobs"
    return f"{jobs:,.0f} jobs" if jobs >= 10 else f"{jobs:.2g} jobs"


def _change(trend):
    """The date of change and its limits, where there is one."""
    if pd.isna(trend.change_date):
        return [], []
    first, day, last = (f"{date:%Y-%m-%d}" for date in (trend.change_from, trend.change_date, trend.change_to))
    span = {"type": "rect", "x0": first, "x1": last, "y0": 0, "y1": 1, "yref": "paper", "fillcolor": SHADE, "line": {"width": 0},
            "layer": "below"}  # fmt: skip
    note = _note(day, 1, f"change: {day_text(trend.change_date)}<br>between {day_text(trend.change_from)} and {day_text(trend.change_to)}",
                 yref="paper", yanchor="bottom", xanchor="center")  # fmt: skip
    return [span, _rule([day, day], [0, 1], INK, 1.2, yref="paper")], [note]


# --- what they took


def cost(made, title: str, note: str) -> go.Figure:
    """What comebacks took in each month; where no cost is recorded, how many there were.

    Parameters
    ----------
    made : comebacks.costs.Cost
    title, note : str

    Returns
    -------
    Figure
        Traces by ``meta``: ``months`` (bars), ``mean`` (a month) and ``mean limits``.
    """
    return go.Figure(cost_spec(made, title, note))


def cost_spec(made, title: str, note: str) -> dict:
    """``cost`` as a plain dictionary."""
    spec = _spec(title, note, 300, 150)
    months = made.by_month
    priced = made.priced > 0
    y = months["cost"] if priced else months["returns"]
    middle, low, high = made.cost_a_month if priced else made.returns_a_month
    said = [
        f"{count_text(int(n), 'return')}, {with_cost:,} with a cost: {took:,.0f}<br>{month:%b %Y}"
        for month, n, with_cost, took in months.itertuples(index=False)
    ]
    ends = _days(pd.concat([months["month"].head(1), months["month"].tail(1)]))
    spec["data"] = [
        _trace("mean limits", x=[*ends, *ends[::-1]], y=[high] * len(ends) + [low] * len(ends), mode="lines", fill="toself", fillcolor=BAND,
               line={"width": 0}, hoverinfo="skip"),
        {"type": "bar", "meta": "months", "name": "months", "x": _days(months["month"]), "y": _shown_list(y), "showlegend": False,
         "marker": {"color": BLUE}, "text": said, "textposition": "none", "hovertemplate": "%{text}<extra></extra>"},
        _trace("mean", x=ends, y=[middle] * len(ends), mode="lines", line={"color": INK, "width": 1.2}, hoverinfo="skip"),
    ]  # fmt: skip
    unit = "" if priced else " returns"
    spec["layout"] |= {
        "xaxis": _axis("month of the return", type="date"),
        "yaxis": _axis("cost a month [currency of the records]" if priced else "returns a month", rangemode="tozero", tickformat=",d"),
        "shapes": [], "bargap": 0.25,
        "annotations": [_note(1, middle, f"mean {middle:,.{0 if priced else 1}f}{unit}<br>a month", xref="paper", xanchor="left", xshift=8)],
    }  # fmt: skip
    return spec
