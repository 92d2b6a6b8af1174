"""Brake jobs: what was fitted, by whom, and how.

A job is one axle of one vehicle at one visit, with pads, shoes, rotor or drum replaced or machined. Its factors are what may
go with a comeback; a factor of which nothing was written has the level ``unrecorded``.
"""

import numpy as np
import pandas as pd

from brakedata.columns import ACTIONS, WORK_PARTS
from brakedata.records import Records

JOB_PARTS = ("pads", "shoes", "rotor", "drum")
JOB_ACTIONS = ("replaced", "machined")
UNRECORDED = "unrecorded"
GENERAL_FACTORS = ("technician", "product_line", "axle", "wear_class", "duty", "season")
FITTING_FACTORS = ("runout", "thickness_variation")
FACTORS = GENERAL_FACTORS + WORK_PARTS + FITTING_FACTORS
"""Every factor by which jobs can be told apart."""
FITTING_LIMIT_MM = {"runout": 0.05, "thickness_variation": 0.013}
"""Runout on the hub and thickness variation above which pulsation is to be expected (common practice, no source)."""
SEASONS = np.array(["December to February", "March to May", "June to August", "September to November"])


def table(records: Records, as_of: pd.Timestamp) -> pd.DataFrame:
    """The brake jobs up to ``as_of``, one row a job, in order of vehicle and visit.

    Returns
    -------
    DataFrame
        ``vehicle_id, visit_id, visit_no, date, km`` (NaN where no odometer can be believed), ``axle, done`` (what was done, as
        text), ``complaint, note`` (of the job's own visit), ``runout_mm, thickness_variation_mm`` (the worse side after the
        work), and one column a factor of `FACTORS`.
    """
    work = records.work[records.work["date"] <= as_of]
    fitted = work["part"].isin(JOB_PARTS) & work["action"].isin(JOB_ACTIONS)
    jobs = work.loc[fitted, ["visit_id", "axle"]].drop_duplicates()
    visit = records.visits[["visit_id", "vehicle_id", "visit_no", "date", "clock_km", "technician", "complaint", "note"]]
    jobs = jobs.merge(visit, on="visit_id").rename(columns={"clock_km": "km"})
    jobs = jobs.merge(records.vehicles[["vehicle_id", "wear_class", "duty"]], on="vehicle_id", how="left")
    jobs = jobs.merge(_done(work[fitted]), on=["visit_id", "axle"])
    jobs = jobs.merge(_product_lines(work[fitted]), on=["visit_id", "axle"], how="left")
    jobs = jobs.merge(_actions(work), on=["visit_id", "axle"], how="left")
    jobs = jobs.merge(_fitting(records.measurements), on=["visit_id", "axle"], how="left")
    jobs["season"] = SEASONS[jobs["date"].dt.month % 12 // 3]
    for name in FITTING_FACTORS:
        jobs[name] = _fitting_level(jobs[f"{name}_mm"], FITTING_LIMIT_MM[name])
    for name in FACTORS:
        jobs[name] = jobs[name].astype("str").fillna("").replace("", UNRECORDED)
    return jobs.sort_values(["vehicle_id", "visit_no", "axle"], kind="stable", ignore_index=True)


def same_axle(axle: pd.Series) -> pd.Series:
    """The axle under one name: ``1`` is the front axle."""
    return axle.replace("1", "front")


def front_or_rear(axle: pd.Series) -> pd.Series:
    """``front`` for the first axle, ``rear`` for every other; empty stays empty."""
    return same_axle(axle).where(same_axle(axle).isin(("front", "")), "rear")


def _in_order_of(words, column):
    """A sort key: the place of each cell in ``words``."""
    return column.map({word: place for place, word in enumerate(words)})


def _done(fitted):
    """What was done, as text: ``pads replaced, rotor machined``."""
    rows = fitted.drop_duplicates(["visit_id", "axle", "part", "action"])
    rows = rows.assign(order=_in_order_of(WORK_PARTS, rows["part"]), done=rows["part"] + " " + rows["action"])
    rows = rows.sort_values(["order", "action"], kind="stable")
    return rows.groupby(["visit_id", "axle"])["done"].agg(", ".join).reset_index()


def _product_lines(fitted):
    """The product line fitted: of the lining where it is written, else of the rotor or drum."""
    rows = fitted[fitted["product_line"].fillna("").ne("")]
    rows = rows.assign(order=_in_order_of(JOB_PARTS, rows["part"])).sort_values("order", kind="stable")
    return rows.drop_duplicates(["visit_id", "axle"])[["visit_id", "axle", "product_line"]]


def _actions(work):
    """One column a part of the work table: the actions recorded on the job, several of them separated by commas."""
    rows = work.drop_duplicates(["visit_id", "axle", "part", "action"])
    rows = rows.assign(order=_in_order_of(ACTIONS, rows["action"])).sort_values("order", kind="stable")
    joined = rows.pivot_table(index=["visit_id", "axle"], columns="part", values="action", aggfunc=", ".join)
    return joined.reindex(columns=list(WORK_PARTS)).reset_index()


def _fitting(measurements):
    """Runout and thickness variation after the work: the worse side, in mm."""
    rows = measurements[measurements["taken"].eq("after") & measurements["measure"].isin(FITTING_FACTORS)]
    worst = rows.pivot_table(index=["visit_id", "axle"], columns="measure", values="value_mm", aggfunc="max")
    return worst.reindex(columns=list(FITTING_FACTORS)).add_suffix("_mm").reset_index()


def _fitting_level(mm, limit):
    level = np.where(mm > limit, f"over {limit:g} mm", f"up to {limit:g} mm")
    return pd.Series(level, index=mm.index).where(mm.notna(), "")
