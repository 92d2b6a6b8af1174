"""Penalised logistic regression that survives separation: a level whose jobs all came back, or none.

Source: D. Firth (1993), Biometrika 80, 27-38; G. Heinze, M. Schemper (2002), Statistics in Medicine 21, 2409-2419 (profile
intervals and penalised likelihood ratio tests).
"""

from dataclasses import dataclass

import numpy as np

MOST_STEPS = 200
LONGEST_STEP = 3.0


@dataclass(frozen=True)
class Fit:
    """A penalised fit: coefficients (log odds ratios), their standard errors and the penalised log likelihood."""

    x: np.ndarray
    y: np.ndarray
    n: np.ndarray
    coef: np.ndarray
    se: np.ndarray
    loglik: float

    def interval(self, which: int, level: float = 0.95) -> tuple[float, float]:
        """Profile penalised likelihood interval of one coefficient."""
        from scipy.stats import norm

        z = norm.ppf((1 + level) / 2)
        return tuple(self._edge(which, sign * z) for sign in (-1, 1))

    def _edge(self, which, z):
        """Where the signed root of the likelihood ratio is ``z``, by the secant rule: it is nearly straight."""
        at, root, slope = self.coef[which], 0.0, 1.0 / self.se[which]
        held = self
        for _ in range(MOST_STEPS):
            step = np.clip((z - root) / slope, -LONGEST_STEP, LONGEST_STEP)
            moved = at + step
            start = held.coef.copy()
            start[which] = moved
            held = fit(self.x, self.y, self.n, held=(which,), start=start)
            new = np.sign(moved - self.coef[which]) * np.sqrt(max(2 * (self.loglik - held.loglik), 0.0))
            if abs(new - z) < 1e-6 or abs(step) < 1e-10:
                return float(moved)
            slope = max((new - root) / step, 1e-3 / self.se[which])
            at, root = moved, new
        return float(np.sign(z) * np.inf)

    def p_without(self, which) -> float:
        """Penalised likelihood ratio test that the coefficients ``which`` are all nought."""
        from scipy.stats import chi2

        which = tuple(which)
        if not which:
            return 1.0
        start = self.coef.copy()
        start[list(which)] = 0.0
        without = fit(self.x, self.y, self.n, held=which, start=start)
        return float(chi2.sf(max(2 * (self.loglik - without.loglik), 0.0), len(which)))


def fit(x, y, n=None, held=(), start=None) -> Fit:
    """Fit by Newton's rule with shortened steps.

    Parameters
    ----------
    x : array, shape (m, k)
        Columns linearly independent; the first one usually ones.
    y : array, shape (m,)
        How many came back, of
    n : array, shape (m,), optional
        how many tries (may be fractions, not below ``y``); default one each.
    held : tuple of int
        Coefficients that stay as they are in ``start``.
    start : array, shape (k,), optional

    Returns
    -------
    Fit
    """
    x, y = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    n = np.ones(len(y)) if n is None else np.asarray(n, dtype=float)
    coef = np.zeros(x.shape[1]) if start is None else np.array(start, dtype=float)
    free = np.setdiff1d(np.arange(x.shape[1]), held)
    loglik, score, information = _state(x, y, n, coef)
    for _ in range(MOST_STEPS):
        if not len(free) or np.abs(score[free]).max() < 1e-9 * max(1.0, n.sum() ** 0.5):
            break
        step = np.linalg.solve(information[np.ix_(free, free)], score[free])
        step *= min(1.0, LONGEST_STEP / np.abs(step).max())
        for _ in range(30):
            tried = coef.copy()
            tried[free] += step
            state = _state(x, y, n, tried)
            if state[0] >= loglik - 1e-12 * abs(loglik):
                break
            step /= 2
        small = np.abs(step).max() < 1e-10
        coef, (loglik, score, information) = tried, state
        if small:
            break
    return Fit(x, y, n, coef, np.sqrt(np.diag(np.linalg.inv(information))), loglik)


def _state(x, y, n, coef):
    """Penalised log likelihood, its slope, and Fisher's information."""
    line = x @ coef
    p = 1.0 / (1.0 + np.exp(-np.clip(line, -500, 500)))
    weight = n * p * (1 - p)
    information = x.T @ (weight[:, None] * x)
    lower = np.linalg.cholesky(information)
    leverage = weight * (np.linalg.solve(lower, x.T) ** 2).sum(axis=0)
    loglik = (y * line - n * np.logaddexp(0.0, line)).sum() + np.log(np.diag(lower)).sum()
    return loglik, x.T @ (y - n * p + leverage * (0.5 - p)), information
