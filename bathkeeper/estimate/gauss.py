"""A named Gaussian: the mean and covariance of everything believed about one tank, and the algebra on it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bathkeeper.estimate.dual import Dual, Vector

Matrix = NDArray[np.float64]


@dataclass(frozen=True)
class Gauss:
    """``mean`` of shape (n,) and symmetric ``cov`` of shape (n, n), entries by ``names``. Never changed in place."""

    names: tuple[str, ...]
    mean: Vector
    cov: Matrix
    index: Mapping[str, int]

    @staticmethod
    def independent(beliefs: Sequence[tuple[str, float, float]]) -> Gauss:
        """From (name, mean, variance) each."""
        names = tuple(b[0] for b in beliefs)
        return Gauss(
            names,
            np.array([b[1] for b in beliefs], dtype=float),
            np.diag(np.array([b[2] for b in beliefs], dtype=float)),
            {n: i for i, n in enumerate(names)},
        )

    def __contains__(self, name: str) -> bool:
        return name in self.index

    def value(self, name: str) -> float:
        return float(self.mean[self.index[name]])

    def variance(self, name: str) -> float:
        i = self.index[name]
        return float(self.cov[i, i])

    def dual(self, name: str) -> Dual:
        """The named entry as a number that knows it is the named entry."""
        i = self.index[name]
        grad = np.zeros(len(self.names))
        grad[i] = 1.0
        return Dual(float(self.mean[i]), grad)

    def variance_of(self, x: Dual) -> float:
        """First-order variance of a function of the state."""
        return float(x.grad @ self.cov @ x.grad)

    def extended(self, beliefs: Sequence[tuple[str, float, float]]) -> Gauss:
        """With further independent entries (name, mean, variance) behind the present ones."""
        if not beliefs:
            return self
        n, k = len(self.names), len(beliefs)
        cov = np.zeros((n + k, n + k))
        cov[:n, :n] = self.cov
        cov[range(n, n + k), range(n, n + k)] = [b[2] for b in beliefs]
        names = self.names + tuple(b[0] for b in beliefs)
        mean = np.concatenate([self.mean, [b[1] for b in beliefs]])
        return Gauss(names, mean, cov, {name: i for i, name in enumerate(names)})

    def without(self, names: Iterable[str]) -> Gauss:
        """The rest, the named entries marginalised out."""
        gone = set(names)
        keep = [i for i, n in enumerate(self.names) if n not in gone]
        if len(keep) == len(self.names):
            return self
        kept = tuple(self.names[i] for i in keep)
        return Gauss(kept, self.mean[keep], self.cov[np.ix_(keep, keep)], {n: i for i, n in enumerate(kept)})

    def replaced(self, beliefs: Mapping[str, tuple[float, float]]) -> Gauss:
        """Named entries set afresh to (mean, variance), their covariances with everything else forgotten."""
        mean, cov = self.mean.copy(), self.cov.copy()
        for name, (value, variance) in beliefs.items():
            i = self.index[name]
            mean[i] = value
            cov[i, :] = 0.0
            cov[:, i] = 0.0
            cov[i, i] = variance
        return Gauss(self.names, mean, cov, self.index)

    def moved(self, changes: Mapping[str, Dual]) -> Gauss:
        """After x_i -> x_i + change_i(x): mean exactly, covariance by the change's own Jacobian."""
        if not changes:
            return self
        rows = [self.index[n] for n in changes]
        mean = self.mean.copy()
        mean[rows] += [c.value for c in changes.values()]
        G = np.array([c.grad for c in changes.values()])  # F = I + G in these rows, so F P F' touches only them
        GP = G @ self.cov
        cov = self.cov.copy()
        cov[rows, :] += GP
        cov[:, rows] += GP.T
        cov[np.ix_(rows, rows)] += GP @ G.T
        return Gauss(self.names, mean, (cov + cov.T) / 2, self.index)

    def shifted(self, shifts: Mapping[str, tuple[float, float]]) -> Gauss:
        """Named entries moved by an independent input of (mean, variance) each."""
        mean, cov = self.mean.copy(), self.cov.copy()
        for name, (value, variance) in shifts.items():
            i = self.index[name]
            mean[i] += value
            cov[i, i] += variance
        return Gauss(self.names, mean, cov, self.index)

    def with_mean(self, mean: Vector) -> Gauss:
        return Gauss(self.names, mean, self.cov, self.index)

    def drifted(self, rates: Mapping[str, Dual], walks: Vector, days: float, white: Mapping[str, float]) -> Gauss:
        """After ``days`` of steady change at ``rates`` (per day), while entries wander as a random walk.

        ``walks``: variance per day, shape (n,). ``white``: variance per day of entries that are noisy themselves. The rates may
        depend on entries that do not change themselves (the parameters), which makes their Jacobian nilpotent and the formula
        exact: two spells give the same as one of their total length.
        """
        mean = self.mean.copy()
        n = len(self.names)
        G = np.zeros((n, n))
        for name, rate in rates.items():
            i = self.index[name]
            mean[i] += rate.value * days
            G[i] = rate.grad
        Phi = np.eye(n) + G * days
        W = np.diag(walks)
        GW = G @ W
        Q = W * days + (GW + GW.T) * (days**2 / 2) + (GW @ G.T) * (days**3 / 3)
        for name, variance in white.items():
            Q[self.index[name], self.index[name]] += variance * days
        cov = Phi @ self.cov @ Phi.T + Q
        return Gauss(self.names, mean, (cov + cov.T) / 2, self.index)

    def updated(self, expected: Sequence[Dual], observed: Sequence[float], R: Matrix) -> Gauss:
        """After observing values, shape (m,), with error covariance R (m, m); Joseph form, so that cov stays positive."""
        H = np.array([e.grad for e in expected])
        innovation = np.array(observed) - np.array([e.value for e in expected])
        PHt = self.cov @ H.T
        S = H @ PHt + R
        K = np.linalg.solve(S, PHt.T).T
        A = np.eye(len(self.names)) - K @ H
        cov = A @ self.cov @ A.T + K @ R @ K.T
        return Gauss(self.names, self.mean + K @ innovation, (cov + cov.T) / 2, self.index)
