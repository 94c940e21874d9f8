"""Life tables through the reference likelihood: sums over rows and the maximum-likelihood fit.

Made and run with Python 3.11.7, mpmath 1.4.1 (gmpy2 2.3.2 for speed).

A row is (lower, upper, weight, covariates): lower = upper exact, upper None right-censored, lower 0
left-censored. Parameters: location, one coefficient a covariate (log-time sign: positive lasts
longer), log sigma; touch-ups and eyes have no part in a life table.
"""

from mpmath import mp

from jets import Jet
from likelihood import contribution


def times_of(lower, upper):
    if upper is None:
        return "right", {"at": lower}
    if lower == upper:
        return "exact", {"at": lower}
    return ("left", {"at": upper}) if lower == 0 else ("interval", {"after": lower, "by": upper})


def bare_contribution(case, theta):
    """One edge that nobody touched up or looked at: theta ends in log sigma, and so does the jet."""
    full = [*theta[:-1], mp.mpf(0), theta[-1], mp.mpf(0)]
    jet = contribution({**case, "touch_ups": []}, full)
    hessian, kept = jet.full_hessian(), [*range(len(theta) - 1), len(theta)]
    lower = [[hessian[i][j] for j in kept[: row + 1]] for row, i in enumerate(kept)]
    return Jet(jet.value, [jet.gradient[i] for i in kept], lower)


def case_of(row, family):
    lower, upper, _, covariates = row
    kind, times = times_of(lower, upper)
    end = max(times.values())
    return {
        "family": family, "kind": kind, "anchor": "location",
        "n_gamma": len(covariates), "n_beta": 0, "z": covariates, "times": times, "entry": None,
        "segments": [{"start": 0, "stop": end, "parts": [{"share": 1, "x": []}]}],
    }


def log_likelihood(rows, family, theta):
    total = Jet.constant(0, len(theta))
    for row in rows:
        total += bare_contribution(case_of(row, family), theta) * mp.mpf(row[2])
    return total


def covariance(jet, free):
    """Inverse observed information of the free parameters."""
    hessian = jet.full_hessian()
    return mp.inverse(mp.matrix([[-hessian[i][j] for j in free] for i in free]))


def newton_step(jet, free, damping):
    """Newton's step, bent towards the gradient by the damping where the surface is not concave."""
    hessian = jet.full_hessian()
    information = mp.matrix([[-hessian[i][j] for j in free] for i in free])
    for k in range(len(free)):
        information[k, k] += damping * (1 + abs(information[k, k]))
    step = mp.inverse(information) * mp.matrix([jet.gradient[i] for i in free])
    return [step[free.index(i)] if i in free else mp.mpf(0) for i in range(len(jet.gradient))]


def fit(rows, family, start, free):
    """Damped Newton to an undamped step below 1e-25; fixed parameters stay where they start."""
    theta, damping = [mp.mpf(value) for value in start], mp.mpf(1)
    jet = log_likelihood(rows, family, theta)
    for _ in range(200):
        step = newton_step(jet, free, damping)
        if damping == 0 and max(abs(s) for s in step) < mp.mpf("1e-25"):
            return theta, jet
        tried = log_likelihood(rows, family, [t + s for t, s in zip(theta, step)])
        if tried.value < jet.value:
            damping = 10 * damping + mp.mpf("0.01")
            continue
        theta, jet = [t + s for t, s in zip(theta, step)], tried
        damping = damping / 10 if damping > mp.mpf("1e-4") else mp.mpf(0)
    raise ArithmeticError("Newton did not settle in 200 steps")
