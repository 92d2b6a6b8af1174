"""What several test files need: nothing that goes wrong behind a control may stay unseen."""

import json
import logging

import pytest
from hypothesis import settings

settings.register_profile("same", derandomize=True, deadline=None)  # the same cases on every run: a pass stays a pass
settings.register_profile("search", max_examples=2000, deadline=None)  # other cases each time: looked for by hand
settings.load_profile("same")


@pytest.fixture
def nothing_vanishes(monkeypatch, caplog):
    """A defect behind a control fails the test: ipywidgets only logs it, and a panel only shows it in its strip.

    So does a number that no page can show (NaN, infinite) in a picture: the kernel only warns of it.
    """
    from brakedata.panels import desk
    from brakedata.panels.frame import Panel
    from brakedata.panels.redraw import Picture

    desk._kept.clear()
    opened = []
    begin = Panel.__init__

    def remembered(self, *args, **kwargs):
        opened.append(self)
        begin(self, *args, **kwargs)

    show = Picture.show

    def shown(self, spec):
        json.dumps(spec, allow_nan=False, default=str)
        show(self, spec)

    monkeypatch.setattr(Panel, "__init__", remembered)
    monkeypatch.setattr(Picture, "show", shown)
    yield
    assert [record.getMessage() for record in caplog.records if record.levelno >= logging.ERROR] == []
    assert [panel.fault for panel in opened if panel.fault] == []
