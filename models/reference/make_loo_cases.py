"""Make tests/reference/loo.json: leave-one-out predictive densities of small models.

Made and run with Python 3.11.7, arviz-stats 0.8.0, numpy 2.4.6, scipy 1.17.1.

    python models/reference/make_loo_cases.py

Sixteen observations of a normal mean, one of them far out, and draws of that mean: from its posterior, where
draws weigh the same, and from a wider law, where each has the log weight log p - log q
(arviz-stats' loo_approximate_posterior). The answers are arviz-stats'.
"""

import json
from pathlib import Path

import numpy as np
from arviz_stats.base import array_stats
from scipy import stats

SEED = 20270402
TARGET = Path(__file__).resolve().parents[2] / "tests" / "reference" / "loo.json"
DRAWS = 300
DECIMALS = 8


def case(name, log_likelihood, log_weights):
    """log_likelihood: one row an observation, one column a draw."""
    rows = np.round(log_likelihood, DECIMALS)
    log_weights = np.round(log_weights, DECIMALS)
    elpd, k_hat, p_loo = [], [], []
    for row in rows:
        e, k, p = array_stats._loo_approximate_posterior(row[None, :], log_weights[None, :], np.zeros((1, len(row))))
        elpd.append(float(e))
        k_hat.append(float(k))
        p_loo.append(float(p))
    if not log_weights.any():
        e, k, p = array_stats.loo(rows[:, None, :], r_eff=1.0)
        assert np.allclose(e, elpd, rtol=1e-12) and np.allclose(k, k_hat, rtol=1e-12)
    total, error, _, _ = array_stats.loo_summary(np.array(elpd), np.array(p_loo))
    return {
        "name": name,
        "log_weights": log_weights.tolist(),
        "log_likelihood": rows.tolist(),
        "elpd_i": elpd,
        "k_hat": k_hat,
        "elpd": float(total),
        "se": float(error),
    }


def difference(first, second):
    """arviz-stats' summary of the paired differences, as its compare takes them."""
    pairs = np.array(first["elpd_i"]) - np.array(second["elpd_i"])
    total, error, _, _ = array_stats.loo_summary(pairs, np.zeros(len(pairs)))
    return {"elpd_diff": float(total), "dse": float(error)}


def main():
    random = np.random.default_rng(SEED)
    seen = random.normal(1.0, 1.0, size=16)
    seen[3] = 6.5
    precision = len(seen) + 1 / 9
    mean, spread = seen.sum() / precision, precision**-0.5
    draws = random.normal(mean, spread, size=DRAWS)
    wide = mean + 1.6 * spread * random.standard_t(6, size=DRAWS)
    log_p = stats.norm.logpdf(wide, mean, spread)
    log_q = stats.t(6, mean, 1.6 * spread).logpdf(wide)
    close = random.normal(mean, 0.75 * spread, size=DRAWS)
    close_weights = stats.norm.logpdf(close, mean, spread) - stats.norm.logpdf(close, mean, 0.75 * spread)
    normal = lambda at: stats.norm.logpdf(seen[:, None], at[None, :], 1.0)
    student = lambda at: stats.t(4).logpdf(seen[:, None] - at[None, :])
    narrow = stats.norm.logpdf(seen[:, None], draws[None, :], 0.35)
    none = np.zeros(DRAWS)
    cases = [
        case("normal", normal(draws), none),
        case("student", student(draws), none),
        case("narrow", narrow, none),
        case("weighted_normal", normal(wide), log_p - log_q),
        case("weighted_student", student(wide), log_p - log_q),
        case("weighted_close", normal(close), close_weights),
    ]
    whole = {
        "made_by": "models/reference/make_loo_cases.py",
        "seed": SEED,
        "cases": cases,
        "difference": difference(cases[0], cases[1]),
    }
    lines = [f"{json.dumps(key)}: {json.dumps(value)}" for key, value in whole.items() if key != "cases"]
    rows = ",\n".join(json.dumps(one) for one in cases)
    TARGET.write_text("{\n" + ",\n".join(lines) + ',\n"cases": [\n' + rows + "\n]\n}\n")


main()
