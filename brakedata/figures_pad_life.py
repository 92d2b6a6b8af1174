"""Pictures of how long linings last and of what moves wear.

As in `figures`: pure functions, the title is the answer in words, the same traces in the same order.
"""

import numpy as np
import pandas as pd
import plotly.graph_objects as go

from brakedata.figures import (
    BAND,
    BLUE,
    GRID,
    INK,
    PAPER,
    PAST,
    QUIET,
    ROW_PX,
    _axis,
    _note,
    _rule,
    _shown_list,
    _spec,
    _trace,
    plain,
)
from brakedata.pad_life import Group
from brakedata.shown import Shown, count_text
from brakedata.views import effects as effects_view
from brakedata.views.pad_life import behind, headline

TICKS = (1, 2, 2.5, 5, 10)
MOST_TICKS = 7
EFFECT_STEPS = (0.25, 0.33, 0.5, 0.67, 0.8, 0.9, 1.0, 1.1, 1.25, 1.5, 2.0, 3.0, 4.0)


def curve(groups: dict[str, Group], what: str, shown: Shown) -> go.Figure:
    """Share of sets still on the vehicle by distance since fitting, and to the replace point.

    Parameters
    ----------
    groups : dict of Group
        By life (`pad_life.LIVES`).
    what : str
        The sets in words.
    shown : Shown

    Returns
    -------
    Figure
        Traces by ``meta``: ``limits``, ``to the replace point``, ``law``, ``to replacement``.
    """
    return go.Figure(curve_spec(groups, what, shown))


def curve_spec(groups: dict[str, Group], what: str, shown: Shown) -> dict:
    """``curve`` as a plain dictionary."""
    told, point = groups["replaced"], groups["replace_at"]
    spec = _spec(headline(told, what, shown), behind(told), 380, 150)
    farthest = max([one.curve.watched.farthest_km for one in (told, point) if one.curve is not None] or [100_000.0])
    end = float(shown.distance_of(farthest))
    step = _step(end)
    ticks = np.arange(0, end + 0.001, step)
    x, low, high, share = _steps(told, shown)
    spec["data"] = [
        _trace("limits", x=[*x, *x[::-1]], y=[*high, *low[::-1]], mode="lines", fill="toself", fillcolor=BAND, line={"width": 0}, hoverinfo="skip"),
        _trace("to the replace point", x=_steps(point, shown)[0], y=_steps(point, shown)[3], mode="lines", line={"color": INK, "width": 1.6},
               hovertemplate="%{y:.0%} not yet at the replace point at %{x:,.0f} " + shown.distance + "<extra></extra>"),
        _law(told, end, shown),
        _trace("to replacement", x=x, y=share, mode="lines", line={"color": BLUE, "width": 3},
               hovertemplate="%{y:.0%} still on the vehicle at %{x:,.0f} " + shown.distance + "<extra></extra>"),
    ]  # fmt: skip
    shapes, notes = _halves(told, end, shown)
    spec["layout"] |= {
        "xaxis": _axis(f"distance since fitting [{shown.distance}]; grey: sets watched there", range=[0, 1.02 * end], tickmode="array",
                       tickvals=ticks.tolist(), ticktext=_at_risk(told, ticks, shown)),
        "yaxis": _axis("share not yet replaced", range=[0, 1.03], tickformat=".0%", tickvals=[0, 0.25, 0.5, 0.75, 1]) | {"showgrid": True, "gridcolor": GRID},
        "shapes": shapes, "annotations": notes + _names(told, point, shown),
    }  # fmt: skip
    spec["layout"]["margin"] |= {"b": 78}
    return spec


def _step(end) -> float:
    """Distance between two ticks."""
    size = 10.0 ** np.floor(np.log10(max(end, 1.0) / MOST_TICKS))
    return next(float(size * tick) for tick in TICKS if end / (size * tick) <= MOST_TICKS)


def _steps(told, shown):
    """Corner points of the step curve and of its limits: x, low, high, share."""
    if told.curve is None:
        return [], [], [], []
    km = np.r_[0.0, told.curve.km]
    last = max(told.curve.watched.farthest_km, km[-1])
    x = np.r_[np.repeat(km, 2)[1:], last]
    out = [np.repeat(np.r_[1.0, values], 2) for values in (told.curve.low, told.curve.high, told.curve.share)]
    return (_shown_list(shown.distance_of(x)), *[_shown_list(values) for values in out])


def _law(told, end, shown):
    """The law that fits best, dashed."""
    x, y, name = [], [], "law"
    if told.curve is not None and told.laws:
        best = max(told.laws, key=lambda law: law.log_likelihood)
        x = np.linspace(0, end, 120)
        y, name = best.share(x * (1 / shown.distance_of(1.0))), best.name
    return _trace("law", x=_shown_list(x), y=_shown_list(y), mode="lines", line={"color": PAST, "width": 1.6, "dash": "dash"}, hoverinfo="skip",
                  text=name)  # fmt: skip


def _halves(told, end, shown):
    """Where the half is reached."""
    if told.curve is None or np.isinf(told.curve.quantile(0.5)[0]):
        return [], []
    middle = float(shown.distance_of(told.curve.quantile(0.5)[0]))
    shapes = [_rule([0, middle], [0.5, 0.5], QUIET, 1, "dot"), _rule([middle, middle], [0, 0.5], QUIET, 1, "dot")]
    return shapes, [
        _note(
            middle, 0, f"half by {shown.forecast_text(told.curve.quantile(0.5)[0])}", yanchor="bottom", xanchor="left", xshift=6
        )
    ]


def _names(told, point, shown):
    """Name of each curve, pointing at it."""
    notes = []
    pointer = {"showarrow": True, "arrowhead": 0, "arrowwidth": 1, "arrowcolor": PAST, "bgcolor": "rgba(255,255,255,0.85)"}
    for one, text, color, level, ax, ay in (
        (told, "<b>to replacement</b>", BLUE, 0.72, -50, 34),
        (point, "to the replace point", INK, 0.28, 46, -30),
    ):
        if one.curve is not None:
            km = one.curve.quantile(1 - level)[0]
            if np.isfinite(km):
                anchor = "right" if ax < 0 else "left"
                notes.append(_note(float(shown.distance_of(km)), level, text, color, xanchor=anchor, ax=ax, ay=ay, **pointer))
    if told.curve is not None and told.laws:
        best = max(told.laws, key=lambda law: law.log_likelihood)
        notes.append(_note(1, 0.98, f"dashed: {'Weibull' if best.name == 'weibull' else best.name} law", QUIET, xref="paper", yref="paper", xanchor="left",
                           yanchor="top", xshift=8))  # fmt: skip
    return notes


def _at_risk(told, ticks, shown):
    """Tick labels: the distance, and below it how many sets are watched there."""
    if told.curve is None:
        return [f"{tick:,.0f}" for tick in ticks]
    watched = told.curve.watched.watched_at(np.maximum(ticks / shown.distance_of(1.0), 1.0))
    return [f"{tick:,.0f}<br><span style='color:{QUIET}'>{count:.0f}</span>" for tick, count in zip(ticks, watched, strict=True)]


def effects(rows: pd.DataFrame, factor: str) -> go.Figure:
    """How much faster or slower each level of a factor wears, with 95 % limits.

    Parameters
    ----------
    rows : DataFrame
        ``views.effects.rows_of``.
    factor : str

    Returns
    -------
    Figure
        Traces by ``meta``: ``beyond chance`` (filled), ``within chance`` (open).
    """
    return go.Figure(effects_spec(rows, factor))


def effects_spec(rows: pd.DataFrame, factor: str) -> dict:
    """``effects`` as a plain dictionary."""
    note = "wear rate against the others on like vehicles; line: 95 % limits; filled: more than chance, false alarms controlled"
    spec = _spec(effects_view.headline(rows, factor), note if len(rows) else "", 2 * ROW_PX * max(len(rows), 1) + 40, 250)
    told = list(enumerate(rows.itertuples()))
    beyond = [(at, row) for at, row in told if effects_view.beyond_chance(row)]
    within = [(at, row) for at, row in told if np.isfinite(row.ratio) and not effects_view.beyond_chance(row)]
    spec["data"] = [_dots("beyond chance", beyond, BLUE), _dots("within chance", within, PAPER)]
    edges = [edge for _, row in beyond + within for edge in (row.low, row.high)]
    low, high = 0.95 * min([*edges, 0.84]), 1.05 * max([*edges, 1.19])
    ticks = [step for step in EFFECT_STEPS if low <= step <= high]
    words = [effects_view.level_words(factor, row.level) for _, row in told]
    spec["layout"] |= {
        "xaxis": _axis("wear rate against the others [%]", type="log", range=[float(np.log10(low)), float(np.log10(high))], tickmode="array", tickvals=ticks,
                       ticktext=[_percent(step) for step in ticks]),
        "yaxis": _axis("", range=[max(len(told), 1) - 0.4, -0.6], tickmode="array", tickvals=list(range(len(told))), ticktext=[plain(word) for word in words],
                       ticks="", automargin=True, ticklabelstandoff=8) | {"showline": False},
        "shapes": [_rule([1, 1], [0, 1], INK, 1.0, yref="paper")], "annotations": [_beside(at, row) for at, row in told],
    }  # fmt: skip
    return spec


def _percent(ratio) -> str:
    return "alike" if ratio == 1 else f"{100 * (ratio - 1):+.0f} %".replace("-", "−")


def _dots(meta, rows, fill):
    ratio, low, high = (np.array([getattr(row, name) for _, row in rows], dtype=float) for name in ("ratio", "low", "high"))
    return _trace(
        meta, x=ratio.tolist(), y=[at for at, _ in rows], mode="markers", text=[plain(effects_view.sentence(row)) for _, row in rows],
        hovertemplate="%{text}<extra></extra>", marker={"size": 12, "color": fill, "line": {"width": 1.8, "color": BLUE}},
        error_x={"type": "data", "symmetric": False, "array": (high - ratio).tolist(), "arrayminus": (ratio - low).tolist(), "color": BLUE,
                 "thickness": 2, "width": 0},
    )  # fmt: skip


def _beside(at, row):
    """What a row says, beside the picture."""
    if not np.isfinite(row.ratio):
        return _note(1, at, effects_view.why_not(row), QUIET, xref="paper", xanchor="left", xshift=12)
    text = f"{effects_view.percent_text(row.ratio)}<br>{count_text(row.sets, 'set')}, {count_text(row.vehicles, 'vehicle')}"
    text += " (not alike)" if row.finding else ""
    return _note(1, at, text, INK if effects_view.beyond_chance(row) else QUIET, xref="paper", xanchor="left", xshift=12)
