"""A random effect held against a published data set: writes tests/reference/shared_frailty/log_likelihood.json.

Made and run with Python 3.11.7, mpmath 1.4.1.

    python models/reference/shared_frailty.py

    ln T = mu0 + b_female * female + b_group + sigma W,    W standard smallest extreme value,
    b_group normal about 0 with standard deviation tau

Marginal log-likelihood: for each group the integral over b_group of the product of its lives (density per
day for an event, survival for a censored time). Gauss-Hermite quadrature about the peak of each group's
integrand, nodes added until it stands still, and mpmath's own quadrature over the whole line as a second
road.
"""

import csv
import json
from pathlib import Path

from mpmath import mp

FOLDER = Path(__file__).resolve().parents[2] / "tests" / "reference" / "shared_frailty"
DIGITS = 30
AGREEMENT = mp.mpf("1e-13")
PRINTED = 16
NAMES = ["mu0", "b_female", "log_sigma", "log_tau"]
# The maximum by another hand (own quadrature and Newton, in doubles), and surpyval 0.25's log-likelihood.
THETA = [3.7001170864375763, 1.386352744126588, -0.15982969857198126, -0.4258269260094389]
STANDARD_ERRORS = [0.3102809625781709, 0.36606006783056333, 0.1349700399685318, 0.24595373363037973]
OTHERS = {"own": -333.1428481470266, "surpyval_0_25": -333.14284814702665,
          "without_random_effect": -336.63123800963524}


def groups():
    found = {}
    with (FOLDER / "lives.csv").open(newline="") as lines:
        for row in csv.DictReader(lines):
            life = (mp.mpf(row["time"]), row["status"] == "1.0", mp.mpf(row["female"]))
            found.setdefault(row["group"], []).append(life)
    return list(found.values())


def log_lives(lives, theta, b):
    """Log-likelihood of a group's lives given its effect."""
    mu0, b_female, log_sigma = theta[:3]
    total = mp.mpf(0)
    for time, event, female in lives:
        w = (mp.log(time) - mu0 - b_female * female - b) / mp.exp(log_sigma)
        total -= mp.exp(w)
        if event:
            total += w - log_sigma - mp.log(time)
    return total


def log_integrand(lives, theta, b):
    tau = mp.exp(theta[3])
    return log_lives(lives, theta, b) - (b / tau) ** 2 / 2 - mp.log(tau) - mp.log(2 * mp.pi) / 2


def peak(lives, theta):
    """Where the integrand is largest, and its width there; Newton on a log-concave function."""
    mu0, b_female, log_sigma, log_tau = theta
    sigma, precision, b = mp.exp(log_sigma), mp.exp(-2 * log_tau), mp.mpf(0)
    for _ in range(200):
        hazards = [mp.exp((mp.log(t) - mu0 - b_female * f - b) / sigma) for t, _, f in lives]
        events = sum(1 for _, event, _ in lives if event)
        slope = (sum(hazards) - events) / sigma - b * precision
        curve = sum(hazards) / sigma**2 + precision
        step = slope / curve
        b += max(-1, min(1, step))
        if abs(step) < mp.mpf("1e-30"):
            break
    return b, 1 / mp.sqrt(curve)


def hermite(count):
    """Nodes and weights for the weight exp(-x^2)."""
    off_diagonal = mp.zeros(count, count)
    for i in range(count - 1):
        off_diagonal[i, i + 1] = off_diagonal[i + 1, i] = mp.sqrt(mp.mpf(i + 1) / 2)
    nodes, vectors = mp.eigsy(off_diagonal)
    return [(nodes[i], mp.sqrt(mp.pi) * vectors[0, i] ** 2) for i in range(count)]


def by_hermite(lives, theta, rule):
    middle, width = peak(lives, theta)
    ceiling, spread = log_integrand(lives, theta, middle), mp.sqrt(2) * width
    total = sum(
        weight * mp.exp(x * x + log_integrand(lives, theta, middle + spread * x) - ceiling)
        for x, weight in rule
    )
    return ceiling + mp.log(spread * total)


def by_quad(lives, theta):
    middle, width = peak(lives, theta)
    ceiling = log_integrand(lives, theta, middle)
    seams = [middle + width * k for k in (-18, -6, -3, -1, 0, 1, 3, 6, 18)]
    inner = mp.quad(lambda b: mp.exp(log_integrand(lives, theta, b) - ceiling), seams)
    return ceiling + mp.log(inner)


def log_likelihood(theta, rule, data):
    return sum(by_hermite(lives, theta, rule) for lives in data)


def settled(theta, data):
    count, before = 24, None
    while True:
        rule = hermite(count)
        value = log_likelihood(theta, rule, data)
        if before is not None and abs(value - before) < AGREEMENT:
            return value, rule
        count, before = count + 16, value


def derivatives(theta, rule, data, step=mp.mpf("1e-5")):
    """Gradient and Hessian from differences; they err as the square of the step."""
    def at(*moves):
        moved = list(theta)
        for i, k in moves:
            moved[i] += k * step
        return log_likelihood(moved, rule, data)

    size, here = len(theta), at()
    ends = [(at((i, 1)), at((i, -1))) for i in range(size)]
    hessian = mp.matrix(size, size)
    for i in range(size):
        hessian[i, i] = (ends[i][0] + ends[i][1] - 2 * here) / step**2
        for j in range(i):
            cross = at((i, 1), (j, 1)) - at((i, 1), (j, -1)) - at((i, -1), (j, 1)) + at((i, -1), (j, -1))
            hessian[i, j] = hessian[j, i] = cross / (4 * step**2)
    return [(up - down) / (2 * step) for up, down in ends], hessian


def main():
    mp.dps = DIGITS
    theta, data = [mp.mpf(t) for t in THETA], groups()
    assert (len(data), sum(map(len, data))) == (38, 76)
    value, rule = settled(theta, data)
    second = sum(by_quad(lives, theta) for lives in data)
    assert abs(value - second) < AGREEMENT, f"{value} by Hermite, {second} by quadrature"
    for name in ("own", "surpyval_0_25"):
        assert abs(value - mp.mpf(OTHERS[name])) < mp.mpf("1e-11"), name
    gradient, hessian = derivatives(theta, hermite(24), data)
    assert max(abs(g) for g in gradient) < mp.mpf("1e-6"), gradient
    spread = mp.inverse(-hessian)
    errors = [mp.sqrt(spread[i, i]) for i in range(4)]
    for got, wanted in zip(errors, STANDARD_ERRORS):
        assert abs(got / wanted - 1) < mp.mpf("1e-5"), (got, wanted)
    answer = {
        "made_with": "models/reference/shared_frailty.py with Python 3.11.7, mpmath 1.4.1",
        "rows": 76, "groups": 38, "names": NAMES, "theta": THETA,
        "log_likelihood": mp.nstr(value, PRINTED),
        "standard_errors": [mp.nstr(e, 8) for e in errors],
        "log_likelihood_elsewhere": OTHERS,
    }
    (FOLDER / "log_likelihood.json").write_text(json.dumps(answer, indent=1) + "\n")
    print(f"log-likelihood {mp.nstr(value, PRINTED)} with {len(rule)} nodes; by quadrature off by "
          f"{mp.nstr(value - second, 3)}; largest slope {mp.nstr(max(map(abs, gradient)), 3)}")


if __name__ == "__main__":
    main()
