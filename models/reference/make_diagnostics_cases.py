"""Make tests/reference/diagnostics.json: what other programs say of sampled and weighted posteriors.

Made and run with Python 3.11.7, arviz-stats 0.8.0, numpy 2.4.6, scipy 1.17.1.

    python models/reference/make_diagnostics_cases.py

- chains, pareto, weighted: the answers are arviz-stats'; standard deviation numpy's.
- bands: exact. Few points: every way to spread the sample over the cells is summed in fractions. More
  points: the binomial recursion of Saeilynoja, Buerkner and Vehtari (2022), section 3. `simulated` holds
  the bands of arviz-stats, from 100,000 simulated samples.
"""

import itertools
import json
import math
import warnings
from fractions import Fraction
from pathlib import Path

import numpy as np
from arviz_stats.base import array_stats
from arviz_stats.ecdf_utils import get_pointwise_confidence_band, simulate_confidence_bands
from scipy import stats

SEED = 20270316
TARGET = Path(__file__).resolve().parents[2] / "tests" / "reference" / "diagnostics.json"
DECIMALS = 5  # of the data; the answers are printed to all digits
LOG_RATIO_DECIMALS = 9  # no two equal: which one of equal weights gets which smoothed value is open
QUANTILES = [0.05, 0.25, 0.5, 0.9]


# --- chains --------------------------------------------------------------------------------------


def ar1(random, chains, length, correlation):
    """Stationary first-order autoregression with standard normal margins."""
    noise = random.normal(size=(chains, length)) * math.sqrt(1 - correlation**2)
    values = np.empty((chains, length))
    values[:, 0] = random.normal(size=chains)
    for t in range(1, length):
        values[:, t] = correlation * values[:, t - 1] + noise[:, t]
    return values


def chain_sets(random):
    shifted = random.normal(size=(4, 100)) + np.array([[0.0], [0.0], [0.0], [1.5]])
    spread = random.normal(size=(4, 100)) * np.array([[1.0], [1.0], [1.0], [3.0]])
    return {
        "independent": random.normal(size=(4, 250)),
        "autocorrelated": ar1(random, 4, 250, 0.9),
        "antithetic": ar1(random, 4, 100, -0.5),
        "shifted_mean": shifted,
        "wider_chain": spread,
        "heavy_tails": random.standard_cauchy(size=(4, 100)),
        "odd_length": ar1(random, 3, 101, 0.5),
        "ties": np.round(random.normal(size=(4, 100)), 1),
        "random_walk": random.normal(size=(2, 80)).cumsum(axis=1),
        "eight_draws": random.normal(size=(2, 8)),
    }


def chain_case(name, values):
    values = np.round(values, DECIMALS)
    axes = {"chain_axis": 0, "draw_axis": 1}
    return {
        "name": name,
        "chains": values.tolist(),
        "r_hat": float(array_stats.rhat(values, method="rank", **axes)),
        "bulk": float(array_stats.ess(values, method="bulk", **axes)),
        "tail": float(array_stats.ess(values, method="tail", prob=(0.05, 0.95), **axes)),
        "mean_error": float(array_stats.mcse(values, method="mean", **axes)),
        "quantile_errors": [
            [p, float(array_stats.mcse(values, method="quantile", prob=p, **axes))] for p in QUANTILES
        ],
    }


# --- importance weights ---------------------------------------------------------------------------


def log_ratio_sets(random):
    normal = random.normal(size=500)
    student = random.standard_t(4, size=500)
    narrow = 0.5 * random.normal(size=300)
    return {
        "student_target_normal_proposal": stats.t(4).logpdf(normal) - stats.norm.logpdf(normal),
        "normal_target_student_proposal": stats.norm.logpdf(student) - stats.t(4).logpdf(student),
        "narrow_normal_proposal": stats.norm.logpdf(narrow) - stats.norm(0, 0.5).logpdf(narrow),
        # Exponential proposals of rate 1, target of rate 1 - k: the ratio is Pareto with shape k.
        "exponential_k_0.5": 0.5 * random.exponential(size=400) + math.log(0.5),
        "exponential_k_0.9": 0.9 * random.exponential(size=200) + math.log(0.1),
        "nearly_equal": 1e-3 * random.normal(size=200),
        "large_logs": 3.0 * random.normal(size=250) - 1e4,
        "five_in_the_tail": random.normal(size=25),
    }


def pareto_case(name, log_ratios):
    log_ratios = np.round(log_ratios, LOG_RATIO_DECIMALS)
    assert len(np.unique(log_ratios)) == len(log_ratios)
    # arviz-stats takes log ratios of leave-one-out, of the opposite sign.
    smoothed, k_hat = array_stats.psislw(-log_ratios)
    return {
        "name": name,
        "log_weights": log_ratios.tolist(),
        "smoothed": smoothed.tolist(),
        "k_hat": float(k_hat),
    }


def weighted_case(name, values, weights):
    values = np.round(values, DECIMALS)
    weights = np.round(weights, DECIMALS)
    normalised = weights / weights.sum()
    return {
        "name": name,
        "values": values.tolist(),
        "weights": weights.tolist(),
        "mean": float(np.average(values, weights=weights)),
        "standard_deviation": float(np.sqrt(np.cov(values, aweights=weights, ddof=0))),
        "quantiles": [
            [p, float(array_stats._weighted_quantile(values, normalised, p))]
            for p in [0.0, 0.05, 0.3, 0.5, 0.95, 1.0]
        ],
    }


def weighted_cases(random):
    values = random.normal(size=80)
    with_zeros = random.exponential(size=80) * (random.uniform(size=80) < 0.6)
    return [
        weighted_case("equal", values, np.ones(80)),
        weighted_case("exponential", values, random.exponential(size=80)),
        weighted_case("zeros", values, with_zeros),
        weighted_case("one_heavy", values, np.where(np.arange(80) == 17, 200.0, 1.0)),
        weighted_case("one_value", np.array([3.25]), np.array([0.4])),
    ]


# --- bands of the ECDF -----------------------------------------------------------------------------


def pointwise(size, points, gamma):
    z = np.arange(1, points) / points
    return stats.binom.ppf(gamma / 2, size, z).astype(int), stats.binom.ppf(1 - gamma / 2, size, z).astype(int)


def coverage_by_listing(size, points, lower, upper):
    inside = Fraction(0)
    for bars in itertools.combinations(range(size + points - 1), points - 1):
        edges = (-1, *bars, size + points - 1)
        cells = [b - a - 1 for a, b in zip(edges, edges[1:])]
        counts = list(itertools.accumulate(cells))[:-1]
        if all(l <= c <= u for l, c, u in zip(lower, counts, upper)):
            ways = math.factorial(size)
            for cell in cells:
                ways //= math.factorial(cell)
            inside += Fraction(ways, points**size)
    return float(inside)


def coverage_by_recursion(size, points, lower, upper):
    reached = np.array([0])
    chance = np.array([1.0])
    for i, (low, high) in enumerate(zip(lower, upper)):
        step = 1 / (points - i)  # the next cell's share of what lies beyond the last point
        counts = np.arange(low, high + 1)
        moves = stats.binom.pmf(counts[None, :] - reached[:, None], size - reached[:, None], step)
        reached, chance = counts, chance @ moves
    return float(chance.sum())


def exact_bands(size, points, level, coverage_of):
    """The narrowest bands of equal pointwise tails that still cover: over every gamma that matters."""
    z = np.arange(1, points) / points
    below = stats.binom.cdf(np.arange(size + 1)[:, None], size, z)
    tails = np.concatenate([below.ravel(), stats.binom.sf(np.arange(size + 1)[:, None] - 1, size, z).ravel()])
    # Between two tail probabilities nothing changes: ask in the middle. Those of mirrored points are equal
    # but for rounding.
    tails = np.unique(np.concatenate([[1e-12], tails[(tails > 1e-12) & (tails < 0.5)]]))
    gammas = 2 * np.sqrt(tails[1:] * tails[:-1])[tails[1:] > tails[:-1] * (1 + 1e-9)]
    low, high = 0, len(gammas) - 1
    while low < high:
        middle = (low + high + 1) // 2
        covers = coverage_of(size, points, *pointwise(size, points, gammas[middle])) >= level
        low, high = (middle, high) if covers else (low, middle - 1)
    lower, upper = pointwise(size, points, gammas[low])
    return lower, upper, coverage_of(size, points, lower, upper)


def band_case(random, size, points, level, simulate):
    few = math.comb(size + points - 1, points - 1) < 6000
    lower, upper, coverage = exact_bands(size, points, level, coverage_by_listing if few else coverage_by_recursion)
    assert abs(coverage - coverage_by_recursion(size, points, lower, upper)) < 1e-12
    case = {
        "sample_size": size,
        "points": points,
        "level": level,
        "by": "listing" if few else "recursion",
        "lower": lower.tolist(),
        "upper": upper.tolist(),
        "coverage": coverage,
    }
    if simulate:
        z = np.arange(1, points) / points
        chance = simulate_confidence_bands(size, 1, z, level, 100_000, random)
        bounds = get_pointwise_confidence_band(chance, size, z)
        case["simulated"] = [np.rint(bound * size).astype(int).tolist() for bound in bounds]
    return case


def band_cases(random):
    asked = [
        (5, 5, 0.9, False),
        (8, 4, 0.95, False),
        (10, 5, 0.5, False),
        (50, 50, 0.95, True),
        (100, 20, 0.95, True),
        (100, 100, 0.9, True),
        (250, 50, 0.99, True),
        (1000, 100, 0.95, True),
    ]
    return [band_case(random, *case) for case in asked]


def main():
    warnings.simplefilter("error")
    random = np.random.default_rng(SEED)
    cases = {
        "made_by": "models/reference/make_diagnostics_cases.py",
        "seed": SEED,
        "chains": [chain_case(name, values) for name, values in chain_sets(random).items()],
        "pareto": [pareto_case(name, ratios) for name, ratios in log_ratio_sets(random).items()],
        "weighted": weighted_cases(random),
        "bands": band_cases(random),
    }
    lines = []
    for key, value in cases.items():
        if isinstance(value, list):
            rows = ",\n".join(json.dumps(case) for case in value)
            lines.append(f"{json.dumps(key)}: [\n{rows}\n]")
        else:
            lines.append(f"{json.dumps(key)}: {json.dumps(value)}")
    TARGET.write_text("{\n" + ",\n".join(lines) + "\n}\n")


main()
