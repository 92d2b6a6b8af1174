"""A plotly picture in a panel: built when first shown, then updated in place by only what changed."""

import anywidget
import ipywidgets as widgets
import plotly.graph_objects as go

CONFIG = {
    "displaylogo": False, "displayModeBar": "hover", "responsive": True, "showLink": False, "plotlyServerURL": "",
    "modeBarButtonsToRemove": ["select2d", "lasso2d", "autoScale2d", "zoomIn2d", "zoomOut2d"],
}  # fmt: skip


class Fit(anywidget.AnyWidget):
    """Unseen; tells the pictures of its panel to fit when the panel's size changes: a picture appeared, a side bar opened."""

    _esm = """
    export default {
      render({ el }) {
        const observer = new ResizeObserver(() => requestAnimationFrame(() => window.dispatchEvent(new Event("resize"))));
        const start = () => {
          const panel = el.closest(".brakedata");
          panel ? observer.observe(panel) : requestAnimationFrame(start);
        };
        start();
        return () => observer.disconnect();
      },
    };
    """


class Picture:
    """A place in a panel (``box``) for one picture (``widget``, None until first shown)."""

    def __init__(self):
        self.widget: go.FigureWidget | None = None
        self.box = widgets.VBox(layout={"width": "100%"})
        self.box.add_class("brakedata-picture")

    def show(self, spec: dict) -> None:
        """Show a figure's plain dictionary; from the second time on it must have the same traces in the same order."""
        if self.widget is None:
            figure = go.Figure(
                spec
            )  # first, since it loads all plotly needs: a widget already known to the page must not wait for it
            self.widget = go.FigureWidget(figure)
            self.widget._config = CONFIG
            self.box.children = [self.widget]
            return
        with self.widget.batch_update():
            for trace, wanted in zip(self.widget.data, spec["data"], strict=True):
                _change(trace, wanted)
            _change(self.widget.layout, spec["layout"])


def _change(part, wanted):
    """Set what differs of a trace or of the layout."""
    now = part.to_plotly_json()
    for name, value in wanted.items():
        if name not in ("template", "type") and now.get(name) != value:
            part[name] = value
