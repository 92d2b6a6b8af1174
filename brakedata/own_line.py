"""Own line: the straight line through one position's readings of one life, the technician's view.

Ordinary least squares by statsmodels; where the line meets a limit, Fieller's interval. It is shown beside the shared
model, never in its place: below about four readings it says little.
"""

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Crossing:
    """Where a line meets a limit, and the interval for that place.

    ``kind`` is ``bounded`` (``low_km`` to ``high_km``), ``half_lines`` (all places but one stretch agree with the readings) or
    ``whole_line`` (all places do); for the last two there is not enough evidence, and ``low_km`` and ``high_km`` are NaN.
    """

    km: float
    low_km: float
    high_km: float
    level: float
    kind: str


@dataclass(frozen=True)
class OwnLine:
    """A fitted line, thickness in mm against odometer in km.

    ``residual_sd_mm`` and ``slope_se`` (mm per km) never fall under what rounding to the gauge's step gives: a standard
    deviation of step / sqrt(12).
    """

    readings: int
    intercept_mm: float
    slope_mm_per_km: float
    slope_se: float
    residual_sd_mm: float
    mean_km: float
    sxx_km2: float

    def at(self, odometer_km) -> np.ndarray:
        """Height of the line in mm, same shape as ``odometer_km``."""
        return self.intercept_mm + self.slope_mm_per_km * np.asarray(odometer_km, dtype=float)

    def slope_interval(self, level: float = 0.8) -> tuple[float, float]:
        """t interval of the slope, mm per km."""
        half = self._t_sd(level) / np.sqrt(self.sxx_km2)
        return self.slope_mm_per_km - half, self.slope_mm_per_km + half

    def band(self, odometer_km, level: float = 0.8, new_reading: bool = True) -> tuple[np.ndarray, np.ndarray]:
        """Low and high edge of the band in mm: for one new reading, or for the line itself."""
        x = np.asarray(odometer_km, dtype=float)
        half = self._t_sd(level) * np.sqrt(new_reading + 1 / self.readings + (x - self.mean_km) ** 2 / self.sxx_km2)
        return self.at(x) - half, self.at(x) + half

    def meets(self, limit_mm: float, level: float = 0.8, new_reading: bool = False) -> Crossing:
        """Odometer at which the line meets ``limit_mm``, with Fieller's interval.

        Source: E. C. Fieller (1954), Some problems in interval estimation, J. Royal Statistical Society B 16, 175-185.
        """
        slope = self.slope_mm_per_km
        height = limit_mm - self.at(self.mean_km)
        t2s2 = self._t_sd(level) ** 2
        a = slope**2 - t2s2 / self.sxx_km2
        c = height**2 - t2s2 * (new_reading + 1 / self.readings)
        root = (slope * height) ** 2 - a * c
        km = self.mean_km + height / slope if slope else np.nan
        if a > 0:
            low, high = sorted(self.mean_km + (slope * height + np.array([-1, 1]) * np.sqrt(root)) / a)
            return Crossing(km, low, high, level, "bounded")
        return Crossing(km, np.nan, np.nan, level, "half_lines" if root > 0 else "whole_line")

    def _t_sd(self, level):
        """Quantile of t times the residual standard deviation, mm; two readings leave nothing to judge it by (infinite)."""
        from scipy import stats

        if self.readings < 3:
            return np.inf
        return stats.t.ppf((1 + level) / 2, self.readings - 2) * self.residual_sd_mm


def fit(odometer_km, thickness_mm, step_mm: float = 0.0) -> OwnLine:
    """Fit a line to two or more readings at two or more odometers.

    Parameters
    ----------
    odometer_km, thickness_mm : array, shape (n,)
    step_mm : float
        Step of the gauge; gives the residual standard deviation its floor.

    Returns
    -------
    OwnLine

    Raises
    ------
    ValueError
        Fewer than two different odometers.
    """
    import statsmodels.api as sm

    x = np.asarray(odometer_km, dtype=float)
    y = np.asarray(thickness_mm, dtype=float)
    if len(np.unique(x)) < 2:
        raise ValueError("a line needs readings at two different odometers")
    mean = x.mean()
    sxx = float(((x - mean) ** 2).sum())
    fitted = sm.OLS(y, np.column_stack([np.ones_like(x), x - mean])).fit()
    residual_sd = np.sqrt(fitted.ssr / fitted.df_resid) if fitted.df_resid > 0 else 0.0
    residual_sd = float(max(residual_sd, step_mm / np.sqrt(12)))
    level, slope = map(float, fitted.params)
    slope_se = float(residual_sd / np.sqrt(sxx))
    return OwnLine(len(x), level - slope * float(mean), slope, slope_se, residual_sd, float(mean), sxx)
