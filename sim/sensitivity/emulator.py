"""Emulator: the mean of an outcome as a smooth function of the numbers, from points with luck.

A Gaussian process on a quadratic trend: the covariance of two points is a squared product (any
quadratic), plus a bell with a length for each number, plus luck. It is judged on points it has not
seen: five folds, each predicted by what was fitted to the other four.

References
----------
None: standard; the least share for which indices are given is assumed.
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from typing import Any

import numpy as np

FOLDS = 5
LEAST_R2 = 0.7  # of what luck leaves, on points held out: below it no indices are given, assumed
LEAST_POINTS = 40
LEAST_SIGNAL = 0.1  # share of the variance over points that is no luck, below which R2 says nothing


@dataclass(frozen=True, slots=True)
class HeldOut:
    """How well points that were held out are predicted.

    Parameters
    ----------
    r2
        Share of their variance that is predicted.
    clear_r2
        The same of the variance that luck leaves; nan where luck leaves too little to say.
    luck
        Share of their variance that is luck.
    residuals
        Seen less predicted, shape (n_points,).
    """

    r2: float
    clear_r2: float
    luck: float
    residuals: np.ndarray

    @property
    def good(self) -> bool:
        """Whether indices may be computed from the emulator."""
        return bool(self.clear_r2 >= LEAST_R2)


class Emulator:
    """A fitted emulator.

    Parameters
    ----------
    places
        Shape (n_points, n_factors), 0 to 1.
    values
        Mean outcome of each point, shape (n_points,).
    luck
        Mean variance of `values` by luck: where the search for it begins.
    kernel
        Covariance to start from; that of an outcome of no special kind where None.
    """

    def __init__(
        self, places: np.ndarray, values: np.ndarray, *, luck: float = 0.0, kernel: Any = None
    ) -> None:
        from sklearn.exceptions import ConvergenceWarning
        from sklearn.gaussian_process import GaussianProcessRegressor
        from threadpoolctl import threadpool_limits

        self.centre, self.scale = float(values.mean()), float(values.std()) or 1.0
        noise = min(max(luck / self.scale**2, 1e-5), 0.9)
        starts = [kernel] if kernel else _covariances(places.shape[1], noise)
        found = []
        with warnings.catch_warnings(), threadpool_limits(1):
            # A length at its bound only says that the outcome does not bend along that number.
            warnings.simplefilter("ignore", ConvergenceWarning)
            for start in starts:
                process = GaussianProcessRegressor(start, alpha=1e-8, optimizer=_search)
                process.fit(2.0 * places - 1.0, (values - self.centre) / self.scale)
                found.append(process)
        self.process = max(found, key=lambda one: float(one.log_marginal_likelihood_value_))
        self.places = places

    @property
    def kernel(self) -> Any:
        """The covariance that was found."""
        return self.process.kernel_

    def predict(self, places: np.ndarray) -> np.ndarray:
        """Return the mean outcome at places, shape (n,)."""
        found = self.process.predict(2.0 * places - 1.0)
        return np.asarray(self.centre + self.scale * found, dtype=np.float64)

    def refitted(self, values: np.ndarray, places: np.ndarray) -> np.ndarray:
        """Return predictions had the points shown other values, the covariance kept.

        Parameters
        ----------
        values
            Sets of values at the emulator's points, shape (n_points, n_sets).
        places
            Where it is predicted, shape (n, n_factors).

        Returns
        -------
        ndarray, shape (n, n_sets)
        """
        from scipy.linalg import cho_solve

        weights = cho_solve((self.process.L_, True), (values - self.centre) / self.scale)
        cross = self.kernel(2.0 * places - 1.0, 2.0 * self.places - 1.0)
        return np.asarray(self.centre + self.scale * (cross @ weights), dtype=np.float64)


def _covariances(count: int, noise: float) -> list[Any]:
    """Where the search begins: gentle bends, and sharp ones."""
    from sklearn.gaussian_process.kernels import RBF, ConstantKernel, DotProduct, WhiteKernel

    quadratic = ConstantKernel(0.1, (1e-4, 1e3)) * DotProduct(1.0, (1e-2, 1e2)) ** 2
    luck = WhiteKernel(noise, (1e-6, 1.0))
    return [
        quadratic
        + ConstantKernel(0.5, (1e-4, 1e3)) * RBF(np.full(count, length), (0.1, 50.0))
        + luck
        for length in (2.0, 0.6)
    ]


def _search(objective: Any, start: np.ndarray, bounds: np.ndarray) -> tuple[np.ndarray, float]:
    """Climb the likelihood from one start, not to the last digit."""
    from scipy.optimize import minimize

    found = minimize(
        objective, start, jac=True, bounds=bounds, method="L-BFGS-B",
        options={"maxiter": 60, "ftol": 1e-6},
    )  # fmt: skip
    return found.x, float(found.fun)


def held_out(
    places: np.ndarray, values: np.ndarray, *, luck: float, kernel: Any, seed: int = 1
) -> HeldOut:
    """Return how well an emulator predicts points it has not seen.

    Parameters
    ----------
    places, values, luck
        As `Emulator`.
    kernel
        Where each fold's search begins.
    seed
        Deals the points to the folds.
    """
    fold = np.random.default_rng(seed).permutation(len(values)) % FOLDS
    residuals = np.zeros(len(values))
    for k in range(FOLDS):
        out = fold == k
        fitted = Emulator(places[~out], values[~out], luck=luck, kernel=kernel)
        residuals[out] = values[out] - fitted.predict(places[out])
    variance, error = float(np.var(values)), float(np.mean(residuals**2))
    if variance <= 0.0:
        return HeldOut(np.nan, np.nan, 0.0, residuals)
    share = min(luck / variance, 1.0)
    clear = np.nan
    if 1.0 - share >= LEAST_SIGNAL:
        clear = 1.0 - max(error - luck, 0.0) / (variance - luck)
    return HeldOut(1.0 - error / variance, float(clear), share, residuals)
