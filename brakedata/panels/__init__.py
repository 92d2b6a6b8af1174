"""Panels: controls and pictures for the notebooks, thin fronts over ``views`` and ``figures``.

>>> from brakedata.panels import WearPanel
>>> WearPanel()
"""

from brakedata.panels.comebacks_panel import ComebacksPanel
from brakedata.panels.pad_life_panel import PadLifePanel
from brakedata.panels.ready import check
from brakedata.panels.records_panel import RecordsPanel
from brakedata.panels.schedule_panel import SchedulePanel
from brakedata.panels.start_panel import StartPanel
from brakedata.panels.track_record_panel import TrackRecordPanel
from brakedata.panels.wear_panel import WearPanel

__all__ = [
    "ComebacksPanel",
    "PadLifePanel",
    "RecordsPanel",
    "SchedulePanel",
    "StartPanel",
    "TrackRecordPanel",
    "WearPanel",
    "check",
]
