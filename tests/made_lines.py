"""Made fleets whose linings come in product lines that wear at known rates: `simulate.fleet` with a line chosen at every job."""

import numpy as np
import pandas as pd

import brakedata
from brakedata import lives, shared_model, simulate, usage

NAMES = ("line K", "line L", "line M", "line N")


def fleet(vehicles, seed, log_effects, choose=None, **more):
    """A made fleet; every set fitted at a job is of a line, and wears ``exp(log_effect)`` times as fast for it.

    Parameters
    ----------
    vehicles, seed, more
        As for `simulate.fleet`.
    log_effects : sequence of float
    choose : callable, optional
        Given a random generator and the world, the number of the line for each vehicle and axle; default evenly.
    """
    rng, effect, fitted = np.random.default_rng(10_000 + seed), np.array(log_effects), []

    class Shop(simulate._Shop):
        def _do(self, job, km, clock, mate):
            super()._do(job, km, clock, mate)
            line = rng.integers(0, len(effect), job.shape) if choose is None else choose(rng, self.world)
            self.state.log_effect = self.state.log_effect + np.where(job, effect[line], 0.0)[..., None]
            for vehicle, axle in zip(*np.nonzero(job), strict=True):
                name = self.world.vehicle_id[vehicle], ("front", "rear")[axle]
                fitted.append((*name, round(float(km[vehicle]), 3), NAMES[line[vehicle, axle]]))

    plain, simulate._Shop = simulate._Shop, Shop
    try:
        made = simulate.fleet(vehicles, 4.0, seed, **more)
    finally:
        simulate._Shop = plain
    work, visits = made.tables["work"], made.tables["visits"][["visit_id", "vehicle_id"]]
    place = work.reset_index().merge(visits.assign(km=made.visits["true_odometer_km"].round(3).to_numpy()), on="visit_id")
    lines = pd.DataFrame(fitted, columns=["vehicle_id", "axle", "km", "line"])
    line = place.merge(lines, how="left", on=["vehicle_id", "axle", "km"]).set_index("index")["line"].reindex(work.index)
    linings = work["part"].isin(("pads", "shoes")) & work["action"].eq("replaced")
    made.tables["work"] = work.assign(product_line=line.where(linings))
    return made


def model(made, folder):
    """The shared model of a made fleet."""
    records = brakedata.load(simulate.write(made.tables, folder))
    cut = lives.cut(records)
    return shared_model.fit(cut, records.limits, usage.fit(records, cut.as_of).table["last_km"])
