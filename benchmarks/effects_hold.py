"""Do the limits of product line effects hold on small made fleets, and how often is a line called different where none is?

    python benchmarks/effects_hold.py [SEEDS]

Not speed: shares. Two fleets a seed, of 30 vehicles and three lines: in one line K wears 15 % faster, in the other all lines wear alike.
Default 40 seeds, about five minutes on an idle machine; seeds no test uses.
"""

import sys
import tempfile
from pathlib import Path

import numpy as np
import pandas as pd

from brakedata import effects

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))
import made_lines  # noqa: E402

FASTER = np.log(1.15)
TRUTH = {"line K": FASTER, "line L": -FASTER / 2, "line M": -FASTER / 2}


def lines_of(seed: int, effect: float) -> pd.DataFrame:
    """The lines' rows of one fleet in which line K wears ``exp(effect)`` times as fast, with the truth."""
    with tempfile.TemporaryDirectory() as folder:
        model = made_lines.model(made_lines.fleet(30, seed, [effect, 0.0, 0.0]), Path(folder))
    table = effects.find(model).table
    rows = table[table["factor"].eq("product_line") & table["ratio"].notna()]
    return rows.assign(seed=seed, truth=rows["level"].map(TRUTH) * (effect > 0))


def main():
    seeds = range(1_000, 1_000 + (int(sys.argv[1]) if len(sys.argv) > 1 else 40))
    for name, effect in (("line K 15 % faster", FASTER), ("all alike", 0.0)):
        rows = pd.concat([lines_of(seed, effect) for seed in seeds], ignore_index=True)
        low, off, high = np.log(rows["low"]), np.log(rows["ratio"]) - rows["truth"], np.log(rows["high"])
        held = ((low <= rows["truth"]) & (rows["truth"] <= high)).mean()
        called = rows["q_value"].le(effects.BEYOND_CHANCE).groupby(rows["seed"]).any().mean()
        k = off[rows["level"].eq("line K")]
        print(
            f"{name}: {len(rows)} intervals, 95 % limits hold {100 * held:.1f} %; line K off by {100 * k.mean():+.1f} % "
            f"(s.e. {100 * k.std() / np.sqrt(len(k)):.1f}); half width {100 * ((high - low) / 2).mean():.1f} %; "
            f"some line called different in {100 * called:.0f} % of {len(seeds)} fleets"
        )


if __name__ == "__main__":
    main()
