"""The Gaussian algebra against cases worked by hand, batch least squares, numerical quadrature and reference distributions."""

from __future__ import annotations

import math
from datetime import timedelta

import numpy as np
import pytest
import scipy.integrate
import scipy.special
import scipy.stats

from bathkeeper.catalogue.schema import Prior
from bathkeeper.estimate import observe
from bathkeeper.estimate.dual import Dual
from bathkeeper.estimate.gauss import Gauss
from bathkeeper.estimate.state import Z95, prior_belief, to_natural
from tests.estimate.helpers import Book, is_covariance, take


def gauss(mean: list[float], cov: list[list[float]]) -> Gauss:
    names = tuple(f"x{i}" for i in range(len(mean)))
    return Gauss(names, np.array(mean), np.array(cov), {n: i for i, n in enumerate(names)})


def linear(g: Gauss, row: list[float] | np.ndarray) -> Dual:
    row = np.asarray(row, dtype=float)
    return Dual(float(row @ g.mean), row)


def test_update_of_two_states_as_worked_by_hand() -> None:
    """S = 4 + 1 = 5, K = (4, 2)/5, innovation 3 - 1 = 2; P - K H P = [[0.8, 0.4], [0.4, 2.2]]."""
    before = gauss([1.0, 2.0], [[4.0, 2.0], [2.0, 3.0]])
    after = before.updated([before.dual("x0")], [3.0], np.array([[1.0]]))
    assert after.mean == pytest.approx([2.6, 2.8], rel=1e-14)
    assert after.cov == pytest.approx(np.array([[0.8, 0.4], [0.4, 2.2]]), rel=1e-14)


def test_a_constant_read_n_times() -> None:
    """Conjugate normal model of known variance (Gelman et al., Bayesian Data Analysis, 2.5, memory): precisions add and
    the mean is the mean weighted by them."""
    read, noise, prior_mean, prior_variance = [4.1, 3.7, 4.4, 3.9, 4.0], 0.09, 3.0, 2.0
    g = gauss([prior_mean], [[prior_variance]])
    for z in read:
        g = g.updated([g.dual("x0")], [z], np.array([[noise]]))
    precision = 1 / prior_variance + len(read) / noise
    assert g.variance("x0") == pytest.approx(1 / precision, rel=1e-12)
    assert g.value("x0") == pytest.approx((prior_mean / prior_variance + sum(read) / noise) / precision, rel=1e-12)


@pytest.mark.parametrize("seed", range(5))
def test_readings_one_by_one_or_together_are_weighted_least_squares(seed: int) -> None:
    rng = np.random.default_rng(seed)
    n, m = 6, 15
    root = rng.normal(size=(n, n))
    g = gauss(list(rng.normal(size=n)), (root @ root.T + np.eye(n)).tolist())
    H, z, variances = rng.normal(size=(m, n)), rng.normal(size=m), rng.uniform(0.1, 2.0, m)

    # each row divided by its own deviation; the prior stands as n rows more (numpy's least squares knows nothing of filters)
    L = np.linalg.cholesky(np.linalg.inv(g.cov))
    A = np.vstack([L.T, H / np.sqrt(variances)[:, None]])
    b = np.concatenate([L.T @ g.mean, z / np.sqrt(variances)])
    best = np.linalg.lstsq(A, b, rcond=None)[0]
    spread = np.linalg.inv(A.T @ A)

    one_by_one = g
    for k in range(m):
        one_by_one = one_by_one.updated([linear(one_by_one, H[k])], [z[k]], np.array([[variances[k]]]))
    together = g.updated([linear(g, row) for row in H], list(z), np.diag(variances))
    for found in (one_by_one, together):
        assert found.mean == pytest.approx(best, rel=1e-9, abs=1e-9)
        assert found.cov == pytest.approx(spread, rel=1e-9, abs=1e-9)
        assert is_covariance(found)


def test_correlated_errors_are_generalised_least_squares() -> None:
    """Zinc by difference: error covariance not diagonal."""
    g = gauss([33.0, 24.0], [[4.0, 0.5], [0.5, 1.0]])
    R = np.array([[1.0, -0.6], [-0.6, 0.5]])
    z = [35.0, 23.0]
    after = g.updated([g.dual("x0"), g.dual("x1")], z, R)
    information = np.linalg.inv(g.cov) + np.linalg.inv(R)
    mean = np.linalg.solve(information, np.linalg.inv(g.cov) @ g.mean + np.linalg.inv(R) @ z)
    assert after.mean == pytest.approx(mean, rel=1e-12)
    assert after.cov == pytest.approx(np.linalg.inv(information), rel=1e-12)


def test_an_anode_weighed_again_and_again_is_the_weighted_mean() -> None:
    """The same from a book: weighings of stated spreads, all at one moment, so that nothing happens to it between."""
    book = Book()
    book.bath(anodes=False)
    at = book.moment + timedelta(hours=1)
    weighings = [(2000.0, 4.0), (2001.0, 2.0), (1998.5, 3.0), (2002.0, 1.0)]
    for action, (mass, spread) in zip(["hung", "lifted", "weighed", "weighed"], weighings, strict=True):
        book.anode("zinc-1", action, metal="zinc", mass_g=mass, spread=spread, at=at)
    state = take(book.entries).tanks["bath"]
    masses, weights = np.array([m for m, _ in weighings]), np.array([1 / s**2 for _, s in weighings])
    assert state.gauss.value("anode:zinc-1") == pytest.approx(float(weights @ masses / weights.sum()), rel=1e-12)
    assert Z95 * math.sqrt(state.gauss.variance("anode:zinc-1")) == pytest.approx(1 / math.sqrt(weights.sum()), rel=1e-9)


def test_joseph_form_stays_positive_where_the_short_form_would_not() -> None:
    g = gauss([0.0, 0.0], [[1e12, 1e12 - 1], [1e12 - 1, 1e12]])
    for _ in range(50):
        g = g.updated([g.dual("x0")], [1.0], np.array([[1e-6]]))
        g = g.updated([g.dual("x1")], [1.0], np.array([[1e-6]]))
    assert is_covariance(g)
    assert g.variance("x0") == pytest.approx(1e-6 / 50, rel=0.5)


def test_chi_square_points() -> None:
    assert pytest.approx(scipy.stats.chi2.ppf(0.999, df=1), abs=5e-4) == observe.DOUBT
    assert pytest.approx(scipy.stats.chi2.ppf(0.99, df=1), abs=5e-4) == observe.AGREE
    assert pytest.approx(scipy.stats.norm.ppf(0.975), abs=5e-7) == Z95


def test_log_prior_is_a_factor_either_way() -> None:
    prior = Prior(value=0.5, unit="", scale="log", factor=4.0, status="practice")
    mean, variance = prior_belief(prior)
    belief = scipy.stats.lognorm(s=math.sqrt(variance), scale=math.exp(mean))
    assert belief.ppf([0.025, 0.5, 0.975]) == pytest.approx([0.125, 0.5, 2.0], rel=1e-6)
    assert to_natural(prior, mean) == pytest.approx(0.5)


def test_linear_prior_is_a_range() -> None:
    prior = Prior(value=0.05, unit="", scale="linear", spread=0.12, status="practice")
    mean, variance = prior_belief(prior)
    assert scipy.stats.norm(mean, math.sqrt(variance)).ppf([0.025, 0.975]) == pytest.approx([-0.07, 0.17], abs=1e-7)


def test_logit_prior_keeps_its_range_to_first_order_and_stays_between_0_and_1() -> None:
    prior = Prior(value=0.13, unit="", scale="logit", spread=0.02, status="practice")
    mean, variance = prior_belief(prior)
    quantiles = scipy.special.expit(scipy.stats.norm(mean, math.sqrt(variance)).ppf([0.025, 0.5, 0.975]))
    assert quantiles == pytest.approx([0.11, 0.13, 0.15], abs=0.0015)
    assert [to_natural(prior, x) for x in (mean - 100, mean + 100)] == pytest.approx([0.0, 1.0], abs=1e-12)


def test_random_walk_integrals_against_quadrature() -> None:
    """x' = g.theta, theta a random walk of w per day: cov(x, theta) = int g w (T - s) ds, var x = int (g (T - s))^2 w ds."""
    g = gauss([10.0, 2.0, 3.0], np.diag([1.0, 0.5, 0.2]).tolist())
    a, b, w1, w2, white, days = 0.7, -1.3, 0.02, 0.05, 0.3, 17.0
    rate = g.dual("x1") * a + g.dual("x2") * b
    after = g.drifted({"x0": rate}, np.array([0.0, w1, w2]), days, {"x0": white})

    def integral(f: object) -> float:
        return float(scipy.integrate.quad(f, 0.0, days)[0])

    walked = integral(lambda s: (a * (days - s)) ** 2 * w1 + (b * (days - s)) ** 2 * w2 + white)
    assert after.value("x0") == pytest.approx(10.0 + days * (2 * a + 3 * b))
    assert after.variance("x0") == pytest.approx(1.0 + days**2 * (a**2 * 0.5 + b**2 * 0.2) + walked, rel=1e-10)
    assert after.variance("x1") == pytest.approx(0.5 + w1 * days, rel=1e-12)
    cross = a * 0.5 * days + integral(lambda s: a * w1 * (days - s))
    assert after.cov[0, 1] == pytest.approx(cross, rel=1e-10)


def test_random_walk_against_many_walks() -> None:
    """The same variance from walks that are really taken, in small steps."""
    rng = np.random.default_rng(1)
    days, steps, paths, w = 20.0, 200, 20_000, 0.05
    dt = days / steps
    theta, x = np.ones(paths), np.zeros(paths)
    for _ in range(steps):
        half = rng.normal(0.0, math.sqrt(w * dt), paths)
        x += (theta + half / 2) * dt
        theta += half
    g = gauss([0.0, 1.0], np.zeros((2, 2)).tolist())
    after = g.drifted({"x0": g.dual("x1")}, np.array([0.0, w]), days, {})
    assert np.cov(x, theta) == pytest.approx(after.cov, rel=0.04)


def test_forgetting_and_adding_entries() -> None:
    g = gauss([1.0, 2.0, 3.0], [[2.0, 0.5, 0.3], [0.5, 1.0, 0.2], [0.3, 0.2, 4.0]])
    rest = g.without(["x1"])
    assert rest.names == ("x0", "x2")
    assert rest.cov == pytest.approx(np.array([[2.0, 0.3], [0.3, 4.0]]))
    more = g.extended([("y", 5.0, 9.0)])
    assert more.value("y") == 5.0
    assert more.cov[3] == pytest.approx([0, 0, 0, 9.0])
    afresh = g.replaced({"x0": (7.0, 0.1)})
    assert afresh.cov[0] == pytest.approx([0.1, 0, 0])
    assert afresh.cov[1, 2] == 0.2
    assert g.value("x0") == 1.0, "a Gaussian is never changed in place"
