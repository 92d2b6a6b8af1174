"""Panels: controls and pictures for the notebooks, thin fronts over ``views`` and ``figures``.

>>> from brakedata.panels import WearPanel
>>> WearPanel()
"""

from brakedata.panels.ready import check
from brakedata.panels.records_panel import RecordsPanel
from brakedata.panels.schedule_panel import SchedulePanel
from brakedata.panels.start_panel import StartPanel
from brakedata.panels.wear_panel import WearPanel

__all__ = ["RecordsPanel", "SchedulePanel", "StartPanel", "WearPanel", "check"]
