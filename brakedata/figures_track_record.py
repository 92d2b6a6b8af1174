"""Pictures of the track record: past windows and what came, how often they held, and how far each way of planning missed.

As in `figures`: pure functions, the title is the answer in words, the same traces in the same order.
"""

import numpy as np
import pandas as pd
import plotly.graph_objects as go

from brakedata.figures import (
    BAND,
    BLUE,
    DEEP,
    GRID,
    INK,
    PAPER,
    PAST,
    QUIET,
    ROW_PX,
    _axis,
    _days,
    _note,
    _rule,
    _shown_list,
    _spec,
    _trace,
    plain,
)  # fmt: skip
from brakedata.shown import Shown, count_text, day_text
from brakedata.track_record import LEAST_JUDGED
from brakedata.views.track_record import METHODS, OUTCOMES
from brakedata.views.wear import axle_words

MARKS = {"held": ("circle", BLUE, BLUE), "early": ("diamond", PAPER, INK), "late": ("diamond", PAPER, INK)}
"""Symbol, fill and edge of a dot: filled where it lies in its window, an open diamond where it does not."""
SPREAD = 0.28
WHAT = {"due window": (-1, "circle", BLUE), "next reading": (1, "square", PAST)}
BESIDE_DAYS = 8
"""Days by which the two kinds stand beside their date."""
PROMISED = 0.8


def windows(rows: pd.DataFrame, shown: Shown) -> go.Figure:
    """Past windows, narrowest first, and where the lining came to its point.

    Parameters
    ----------
    rows : DataFrame
        Judged rows of ``TrackRecord.due``.
    shown : Shown

    Returns
    -------
    Figure
        Traces by ``meta``: ``window`` (early to late, as distance from the middle), ``known to`` (what the readings tell of where it
        came), ``came``.
    """
    return go.Figure(windows_spec(rows, shown))


def windows_spec(rows: pd.DataFrame, shown: Shown) -> dict:
    """``windows`` as a plain dictionary."""
    rows = rows.assign(width=rows["late_km"] - rows["early_km"]).sort_values(["width", "vehicle_id", "axle"], kind="stable")
    held = int(rows["outcome"].eq("held").sum())
    title = f"{held} of {count_text(len(rows), 'past window')} held" if len(rows) else "No past window can be judged yet"
    title += ": too few to say how often they do" if 0 < len(rows) < LEAST_JUDGED else ""
    note = "bar: window, 8 in 10; dot: where the lining met its point, line: how sure its readings make that; diamond: outside"
    spec = _spec(title, note if len(rows) else "", 400, 30)
    x = np.arange(1, len(rows) + 1)
    off = {name: _shown_list(shown.distance_of(rows[name] - rows["due_km"])) for name in ("early_km", "late_km", "true_km")}
    half = _shown_list(shown.distance_of(rows["true_high_km"] - rows["true_km"]))
    marks = [MARKS[outcome] for outcome in rows["outcome"]]
    spec["data"] = [
        {"type": "bar", "meta": "window", "name": "window", "x": x.tolist(), "base": off["early_km"], "width": 0.72, "showlegend": False,
         "y": [late - early for early, late in zip(off["early_km"], off["late_km"], strict=True)], "marker": {"color": BAND},
         "hoverinfo": "skip"},
        _trace("known to", x=x.tolist(), y=off["true_km"], mode="markers", hoverinfo="skip", marker={"size": 1, "color": INK},
               error_y={"type": "data", "array": half, "color": INK, "thickness": 1, "width": 0}),
        _trace("came", x=x.tolist(), y=off["true_km"], mode="markers", text=_window_words(rows, shown), hovertemplate="%{text}<extra></extra>",
               marker={"size": 9, "symbol": [m[0] for m in marks], "color": [m[1] for m in marks],
                       "line": {"width": 1.6, "color": [m[2] for m in marks]}}),
    ]  # fmt: skip
    top = len(rows) + 0.7
    spec["layout"] |= {
        "xaxis": _axis("past windows, narrowest first", range=[0.3, max(top, 1.7)], showticklabels=False, ticks=""),
        "yaxis": _axis(f"came later (+) or earlier (−) than even odds [{shown.distance}]", automargin=True, tickformat="+,d", range=_off_range(off, half))
        | {"showgrid": True, "gridcolor": GRID},
        "shapes": [_rule([0.3, max(top, 1.7)], [0, 0], INK, 1.0)], "annotations": [], "bargap": 0,
    }  # fmt: skip
    return spec


def _off_range(off, half):
    """From the earliest to the latest of windows and of what came, with a little room."""
    came = np.array(off["true_km"])
    values = np.concatenate([off["early_km"], off["late_km"], came - half, came + half]) if len(came) else np.array([-1.0, 1.0])
    room = 0.05 * (values.max() - values.min())
    return [float(values.min() - room), float(values.max() + room)]


def _window_words(rows, shown):
    return [
        f"<b>{plain(r.vehicle_id)} {plain(axle_words(r.axle))}</b>, forecast of {day_text(r.date)} at {shown.forecast_text(r.odometer_km)}<br>"
        f"due {shown.forecast_text(r.due_km)}, between {shown.between_text(r.early_km, r.late_km)}<br>"
        f"came at about {shown.forecast_text(r.true_km)}: {OUTCOMES[r.outcome]}{', the readings cannot tell for sure' if r.edge else ''}"
        for r in rows.itertuples()
    ]


def by_date(counts: pd.DataFrame) -> go.Figure:
    """How often windows and bands held, by as-of date, with 95 % limits.

    Parameters
    ----------
    counts : DataFrame
        ``views.track_record.by_date``.

    Returns
    -------
    Figure
        Traces by ``meta``: ``due window``, ``next reading``, each with ``error_y``; ``counts`` (how many of how many).
    """
    return go.Figure(by_date_spec(counts))


def by_date_spec(counts: pd.DataFrame) -> dict:
    """``by_date`` as a plain dictionary."""
    due = counts[counts["what"].eq("due window")]
    enough = due[due["judged"] >= LEAST_JUDGED]
    agree = int(((enough["low"] <= PROMISED) & (enough["high"] >= PROMISED)).sum())
    said = f"On {agree} of {count_text(len(enough), 'past date')} the due windows agree with 8 in 10"
    if len(enough) < len(due):
        said += f"; {len(due) - len(enough)} more can judge too few windows to say"
    if not len(enough):
        said = f"No past date has enough windows ({LEAST_JUDGED}) to say whether they agree with 8 in 10"
    note = "line: 95 % limits of the share, from the number judged alone; dashed: the 8 in 10 that is promised"
    spec = _spec(said if len(due) else "No past date can be judged yet", note if len(counts) else "", 300, 70)
    day = counts["date"] + pd.to_timedelta([BESIDE_DAYS * WHAT[what][0] for what in counts["what"]], unit="D")
    spec["data"] = [_share(counts[counts["what"].eq(what)], day, what) for what in WHAT]
    spec["data"].append(
        _trace("counts", x=_days(day), y=_shown_list(counts["low"]), mode="text", textposition="bottom center", hoverinfo="skip",
               text=[f"{h} of {n}" for h, n in zip(counts["held"], counts["judged"], strict=True)],
               textfont={"size": 12, "color": INK}, cliponaxis=False)
    )  # fmt: skip
    dates = sorted(counts["date"].unique())
    corner = {"xref": "paper", "yref": "paper", "yanchor": "bottom", "xanchor": "left", "xshift": 8}
    key = [
        _note(0.14 * i, 0.01, f"<b style='color:{color}'>{'●' if symbol == 'circle' else '■'}</b> {what}s", QUIET, **corner)
        for i, (what, (_, symbol, color)) in enumerate(WHAT.items())
    ]
    spec["layout"] |= {
        "xaxis": _axis("date of the forecast", type="date", range=_date_range(dates), tickmode="array",
                       tickvals=[f"{day:%Y-%m-%d}" for day in dates], ticktext=[day_text(day) for day in dates]),
        "yaxis": _axis("share that held", range=[-0.12, 1.04], tickformat=".0%", tickvals=[0, 0.2, 0.4, 0.6, 0.8, 1.0]),
        "shapes": [_rule([0, 1], [PROMISED, PROMISED], INK, 1.2, "dash", xref="paper")],
        "annotations": [_note(1, PROMISED, "8 in 10", xref="paper", xanchor="left", xshift=8), *key],
    }  # fmt: skip
    return spec


def _share(counts, day, what):
    """Shares of one kind with their limits."""
    _, symbol, color = WHAT[what]
    return _trace(
        what, x=_days(day[counts.index]), y=_shown_list(counts["share"]), mode="markers",
        marker={"size": 10, "symbol": symbol, "color": color}, cliponaxis=False, hoverinfo="skip",
        error_y={"type": "data", "symmetric": False, "array": _shown_list(counts["high"] - counts["share"]),
                 "arrayminus": _shown_list(counts["share"] - counts["low"]), "color": color, "thickness": 2, "width": 0},
    )  # fmt: skip


def _date_range(dates):
    first, last = (dates[0], dates[-1]) if len(dates) else (pd.Timestamp("2020-01-01"), pd.Timestamp("2020-12-31"))
    room = max(pd.Timedelta(days=75), 0.12 * (last - first))
    return [f"{first - room:%Y-%m-%d}", f"{last + room:%Y-%m-%d}"]


def misses(off: pd.DataFrame, shown: Shown) -> go.Figure:
    """How far what came lay from what was said, by the kit and by two plain ways of planning.

    Parameters
    ----------
    off : DataFrame
        ``views.track_record.misses``.
    shown : Shown

    Returns
    -------
    Figure
        Traces by ``meta``: ``miss`` (a dot a judged life), ``median`` (of the signed misses).
    """
    return go.Figure(misses_spec(off, shown))


def misses_spec(off: pd.DataFrame, shown: Shown) -> dict:
    """``misses`` as a plain dictionary."""
    groups = {word: off.loc[off["method"].eq(word), "miss_km"].to_numpy() for word in METHODS.values()}
    size = {word: float(np.median(np.abs(km))) if len(km) else np.nan for word, km in groups.items()}
    ours, plain_way = size["this kit"], size["fixed interval"]
    title = "Too few to compare" if not len(off) else f"The kit missed by {shown.forecast_text(ours)}"
    if not np.isnan(plain_way):
        title += f", a fixed interval by {shown.forecast_text(plain_way)} (medians)"
    spec = _spec(
        title,
        "a dot is a lining; left of the line it came earlier than said, right of it later; upright mark: median",
        3 * 2 * ROW_PX + 60,
        210,
    )
    x, y = [], []
    for row, km in enumerate(groups.values()):
        x += _shown_list(shown.distance_of(np.sort(km)))
        y += (row + SPREAD * np.sin(2.4 * np.arange(len(km)))).tolist()
    middles = {row: float(shown.distance_of(np.median(km))) for row, km in enumerate(groups.values()) if len(km)}
    spec["data"] = [
        _trace("miss", x=x, y=y, mode="markers", hovertemplate=f"%{{x:+,.0f}} {shown.distance}<extra></extra>",
               marker={"size": 8, "color": BLUE, "opacity": 0.55}),
        _trace("median", x=list(middles.values()), y=list(middles), mode="markers", hoverinfo="skip",
               marker={"symbol": "line-ns", "size": 30, "line": {"width": 3, "color": DEEP}}),
    ]  # fmt: skip
    most = 1.05 * max([abs(value) for value in x] or [1.0])
    right = [
        _note(1, row, f"{shown.forecast_text(size[word])} off (median)<br>{count_text(len(km), 'lining')}" if len(km) else "no answer",
              QUIET if row else INK, xref="paper", xanchor="left", xshift=12)
        for row, (word, km) in enumerate(groups.items())
    ]  # fmt: skip
    spec["layout"] |= {
        "xaxis": _axis(f"came later (+) or earlier (−) than said [{shown.distance}]", range=[-most, most], tickformat="+,d"),
        "yaxis": _axis("", range=[2.6, -0.6], tickmode="array", tickvals=[0, 1, 2], ticktext=list(groups), ticks="", automargin=True,
                       ticklabelstandoff=8) | {"showline": False},
        "shapes": [_rule([0, 0], [0, 1], INK, 1.0, yref="paper")], "annotations": right,
    }  # fmt: skip
    return spec
