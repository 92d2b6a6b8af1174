"""Made shops with known truth: are the limits of comeback rates right, and is nobody accused without cause?

    python benchmarks/comebacks_truth.py [SEEDS] [SEEDS_WITHOUT_DIFFERENCE] [BASE_RISK] [FIRST_SEED]

Defaults 20 and 200, the base risk of `brakedata.simulate_shop`, and 1. About two seconds a seed.
"""

import sys
import tempfile

import numpy as np
import pandas as pd

import brakedata
from brakedata import comebacks, simulate, simulate_shop

FLAG = "R64-beyond-chance"
ALIKE = [name for name in simulate_shop.TECHNICIANS if name not in (simulate_shop.BAD, simulate_shop.HASTY, simulate_shop.NEW)]
GROUPS = ("technician", "hub_face", "product_line", "axle")


def linked(seed, **options):
    """A made shop's truth, and what the kit makes of its records."""
    made = simulate_shop.shop(seed, **options)
    with tempfile.TemporaryDirectory() as folder:
        simulate.write(made.tables, folder)
        return made, comebacks.find(brakedata.load(folder))


def one_seed(seed, base_risk):
    """Coverage, flags, links and explanations of one shop."""
    made, found = linked(seed, base_risk=base_risk)
    table = pd.concat([comebacks.rates(found, by=name).table for name in GROUPS], ignore_index=True)
    truth = {name: made.jobs.groupby(name)["risk"].mean() for name in GROUPS}
    true = np.array([truth[factor].get(level, np.nan) for factor, level in table[["factor", "level"]].to_numpy()])
    said = table["risk"].notna().to_numpy() & np.isfinite(true)
    flagged = table[table["findings"].str.contains(FLAG) & table["factor"].eq("technician")]["level"].tolist()
    pairs = found.links.merge(
        made.comebacks, left_on=["visit_id", "job_visit_id", "job_axle"], right_on=["visit_id", "job_visit_id", "axle"]
    )
    return {
        "groups": said.sum(), "inside": (said & (table["risk_low"] <= true) & (true <= table["risk_high"])).sum(),
        "bias": float(np.log(comebacks.rates(found, by="axle").shop["risk"] / made.jobs["risk"].mean())),
        "bad flagged": simulate_shop.BAD in flagged, "new flagged": simulate_shop.NEW in flagged,
        "hasty flagged": simulate_shop.HASTY in flagged, "an innocent one flagged": bool({*ALIKE} & {*flagged}),
        "hasty explained by": comebacks.excess(found, "technician", simulate_shop.HASTY).explained_by,
        "bad explained by": comebacks.excess(found, "technician", simulate_shop.BAD).explained_by,
        "links found": len(pairs) / len(made.comebacks), "links right": len(pairs) / max(len(found.links), 1),
        "change": np.isfinite(comebacks.trend(found).times),
    }  # fmt: skip


def one_quiet_seed(seed, base_risk):
    """Which factors raise a flag in a shop without any difference."""
    _, found = linked(seed, base_risk=base_risk, differ=False)
    flags = {name: FLAG in " ".join(comebacks.rates(found, by=name).table["findings"]) for name in ("technician", "hub_face")}
    flags["all factors together"] = FLAG in " ".join(comebacks.rates(found).table["findings"])
    flags["change of date"] = np.isfinite(comebacks.trend(found).times)
    return flags


def main(seeds=20, quiet=200, base_risk=simulate_shop.BASE_RISK, first=1):
    """Print what came of all seeds."""
    first = int(first)
    rows = pd.DataFrame([one_seed(seed, base_risk) for seed in range(first, first + seeds)])
    print(f"{seeds} shops, base risk {base_risk:g}")
    inside, groups = rows["inside"].sum(), rows["groups"].sum()
    print(f"true risk inside the 95 % limits: {inside} of {groups} groups ({inside / groups:.3f})")
    print(f"shop's risk over the true one: {np.exp(rows['bias'].mean()):.3f} (geometric mean)")
    for name in ("bad flagged", "new flagged", "hasty flagged", "an innocent one flagged", "change"):
        print(f"{name}: {rows[name].sum()} of {seeds}")
    for name in ("hasty explained by", "bad explained by"):
        print(f"{name}: {rows[name].replace('', 'nothing').value_counts().to_dict()}")
    print(f"links found {rows['links found'].mean():.3f}, right {rows['links right'].mean():.3f}")
    if quiet:
        flags = pd.DataFrame([one_quiet_seed(seed, base_risk) for seed in range(first, first + quiet)])
        print(f"{quiet} shops without any difference, share with a flag: {flags.mean().round(3).to_dict()}")


if __name__ == "__main__":
    numbers = [float(word) for word in sys.argv[1:]]
    main(*[int(number) for number in numbers[:2]], *numbers[2:])
