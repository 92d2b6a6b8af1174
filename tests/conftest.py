"""What several test files need: nothing that goes wrong behind a control may stay unseen."""

import logging

import pytest


@pytest.fixture
def nothing_vanishes(monkeypatch, caplog):
    """A defect behind a control fails the test: ipywidgets only logs it, and a panel only shows it in its strip."""
    from brakedata.panels import desk
    from brakedata.panels.frame import Panel

    desk._kept.clear()
    opened = []
    begin = Panel.__init__

    def remembered(self, *args, **kwargs):
        opened.append(self)
        begin(self, *args, **kwargs)

    monkeypatch.setattr(Panel, "__init__", remembered)
    yield
    assert [record.getMessage() for record in caplog.records if record.levelno >= logging.ERROR] == []
    assert [panel.fault for panel in opened if panel.fault] == []
