"""Hold the answers in tests/reference/likelihood.json against a second road to each.

Made and run with Python 3.11.7, mpmath 1.4.1 (gmpy2 2.3.2 for speed).

    python models/reference/check_derivatives.py

Exact, right, left and interval: the formulas written out once more on plain numbers, and numerical
derivatives of them (mpmath's diff). Graded: the integral on the normal quantile scale,
T at the quantile Phi(x) of its law, instead of on the scale of W.
"""

import json
from pathlib import Path

from mpmath import mp

CASES = Path(__file__).resolve().parents[2] / "tests" / "reference" / "likelihood.json"
PRINTED = mp.mpf("1e-19")  # 20 digits are printed
BELOW_EVERY_DOUBLE = mp.mpf("1e-310")  # times 1e-19: what is printed as zero
NOISE = mp.mpf("1e-85")  # what 100 digits leave of a zero that is a difference of large hazards
CUTS = {"keen": (0, 0.5), "working": (0.5, 0.85), "dull": (0.85, 1.15), "overrun": (1.15, None),
        "not_called": (0, 1.15)}


# --- the model on plain numbers ----------------------------------------------------------------


def rate(parts, beta):
    return sum(mp.mpf(p["share"]) * mp.exp(mp.fdot(beta, map(mp.mpf, p["x"]))) for p in parts)


def unpacked(case, theta):
    split = 1 + case["n_gamma"]
    anchor = mp.mpf(0)
    if case["family"] == "weibull" and case["anchor"] == "median":
        anchor = mp.log(mp.log(2))
    location = theta[0] + mp.fdot(theta[1:split], map(mp.mpf, case["z"]))
    return location, theta[split:-1], mp.exp(theta[-1]), anchor


def age(case, beta, time):
    hours = lambda s: max(mp.mpf(0), min(mp.mpf(time), mp.mpf(s["stop"])) - mp.mpf(s["start"]))
    return sum(hours(s) * rate(s["parts"], beta) for s in case["segments"])


def rate_at(case, beta, time):
    return next(rate(s["parts"], beta) for s in case["segments"] if s["start"] < time <= s["stop"])


def cumulative_hazard(case, theta, time):
    """-ln S at a time."""
    location, beta, sigma, anchor = unpacked(case, theta)
    u = age(case, beta, time)
    if u == 0:
        return mp.mpf(0)
    w = (mp.log(u) - location) / sigma + anchor
    if case["family"] == "weibull":
        return mp.exp(w)
    if case["family"] == "lognormal":
        return -mp.log1p(-normal(w)) if w < 0 else -mp.log(normal(-w))
    return mp.log1p(mp.exp(w))


def log_hazard(case, theta, time):
    """ln of the hazard per clock hour: hazard of W, over sigma u, times the wear rate."""
    location, beta, sigma, anchor = unpacked(case, theta)
    u = age(case, beta, time)
    w = (mp.log(u) - location) / sigma + anchor
    clock = mp.log(rate_at(case, beta, time) / (sigma * u))
    if case["family"] == "weibull":
        return w + clock
    if case["family"] == "lognormal":
        return -w * w / 2 - mp.log(2 * mp.pi) / 2 + cumulative_hazard(case, theta, time) + clock
    return -mp.log1p(mp.exp(-w)) + clock


def log_chance_of(hazard):
    """ln(1 - exp(-hazard)); hazards above one keep the digits of exp(-hazard) itself."""
    return mp.log(-mp.expm1(-hazard)) if hazard < 1 else mp.log1p(-mp.exp(-hazard))


def plain(case, theta):
    """The contribution, all kinds but graded, through the cumulative hazard alone."""
    times = case["times"]
    at = times.get("at")
    hazard = lambda time: cumulative_hazard(case, theta, time)
    value = {
        "exact": lambda: log_hazard(case, theta, at) - hazard(at),
        "right": lambda: -hazard(at),
        "left": lambda: log_chance_of(hazard(at))
        if case["entry"] is None
        else -hazard(case["entry"]) + log_chance_of(hazard(at) - hazard(case["entry"])),
        "interval": lambda: -hazard(times["after"])
        + log_chance_of(hazard(times["by"]) - hazard(times["after"])),
    }[case["kind"]]()
    return value + (hazard(case["entry"]) if case["entry"] is not None else 0)


# --- looks on the quantile scale ---------------------------------------------------------------


def normal(x):
    return mp.erfc(-x / mp.sqrt(2)) / 2


def quantile(family, x):
    """W at the quantile Phi(x) of its law."""
    if family == "weibull":
        return mp.log(-mp.log1p(-normal(x)) if x < 0 else -mp.log(normal(-x)))
    return x if family == "lognormal" else mp.log(normal(x) / normal(-x))


def chance(look, v, eye):
    """Chance of what was seen at wear fraction v, or its density in the log fraction."""
    if look["sight"] in ("measured", "noticed"):
        y = (mp.log(mp.mpf(look.get("fraction", 1))) - mp.log(v)) / eye
        return mp.exp(-y * y / 2) / mp.sqrt(2 * mp.pi) / eye
    low, high = (scaled(cut, v, eye) for cut in CUTS[look["sight"]])
    return normal(-low) - normal(-high) if low > 0 else normal(high) - normal(low)


def scaled(cut, v, eye):
    """Where a cut lies, in eye errors from what the eye meets; open ends are far away."""
    if cut is None:
        return mp.inf
    return (mp.log(mp.mpf(cut)) - mp.log(v)) / eye if cut else -mp.inf


def seen_looks(case):
    looks = list(case["looks"])
    if case["noticed"] is not None:
        looks.append({"at": case["noticed"], "sight": "noticed"})
    return looks + at_entry(case)


def at_entry(case):
    """Nobody had called the edge when it came into view."""
    return [] if case["entry"] is None else [{"at": case["entry"], "sight": "not_called"}]


class Quantiles:
    """The integral over the quantiles of the life's law, as a sum at evenly spaced x."""

    def __init__(self, case, theta, looks=None):
        self.case, self.eye = case, mp.mpf(case["eye_error"])
        self.location, self.beta, self.sigma, self.anchor = unpacked(case, theta)
        self.looks = seen_looks(case) if looks is None else looks
        self.ages = [age(case, self.beta, look["at"]) for look in self.looks]
        self.theta = theta

    def term(self, x):
        life = mp.exp(self.location + self.sigma * (quantile(self.case["family"], x) - self.anchor))
        term = mp.exp(-x * x / 2) / mp.sqrt(2 * mp.pi)
        for look, u in zip(self.looks, self.ages):
            term *= chance(look, u / life, self.eye)
        return term

    def window(self):
        """Where the terms matter: one peak (all factors are log-concave), found on a coarse grid."""
        with mp.workdps(20):
            grid = [(mp.mpf(n) / 2, self.term(mp.mpf(n) / 2)) for n in range(-200, 201)]
            floor = max(term for _, term in grid) * mp.mpf("1e-36")
        kept = [x for x, term in grid if term >= floor]
        return kept[0] - mp.mpf(0.5), kept[-1] + mp.mpf(0.5)

    def grid(self):
        low, high = self.window()
        steepest = max(1, abs(low), abs(high))  # of W in x
        finest = self.eye / (self.sigma * steepest * mp.sqrt(len(self.looks))) / mp.mpf(2.5)
        step = min(mp.mpf(1) / 96, finest)
        return low, step, int((high - low) / step)  # the same for every point of a difference

    def log_integral(self, grid):
        low, step, count = grid
        return mp.log(sum(self.term(low + n * step) for n in range(count + 1)) * step)

    def noticing(self):
        noticed = self.case["noticed"]
        if noticed is None:
            return mp.mpf(0)
        return mp.log(rate_at(self.case, self.beta, noticed) / age(self.case, self.beta, noticed))


# --- comparing ---------------------------------------------------------------------------------


def agree(case, what, got, wanted, scale, tolerance):
    wanted = mp.mpf(wanted)
    room = max(tolerance * max(abs(wanted), scale, BELOW_EVERY_DOUBLE), NOISE)
    assert abs(got - wanted) <= room, f"{case['id']} {what}: {mp.nstr(got, 22)}, wanted {wanted}"


def partials(function, theta, orders):
    order = [0] * len(theta)
    for index in orders:
        order[index] += 1
    return mp.diff(lambda *point: function(list(point)), tuple(theta), tuple(order))


def check_direct(case):
    theta = [mp.mpf(t) for t in case["theta"]]
    function = lambda point: plain(case, point)
    agree(case, "value", function(theta), case["value"], 0, PRINTED)
    largest = max(abs(mp.mpf(g)) for g in case["gradient"])
    curve = max(abs(mp.mpf(h)) for row in case["hessian"] for h in row)
    for i in range(len(theta)):
        agree(case, f"gradient {i}", partials(function, theta, [i]), case["gradient"][i],
              largest * mp.mpf("1e-6"), PRINTED)
        for j in range(i + 1):
            agree(case, f"hessian {i} {j}", partials(function, theta, [i, j]), case["hessian"][i][j],
                  curve * mp.mpf("1e-6"), PRINTED)


def central(function, theta, i, step=mp.mpf("1e-4")):
    """Slope from six points; errs as the sixth power of the step, 1e-24 times a derivative."""
    weights = {1: mp.mpf(3) / 4, 2: -mp.mpf(3) / 20, 3: mp.mpf(1) / 60}
    moved = lambda k: function([t + (k * step if j == i else 0) for j, t in enumerate(theta)])
    return sum(w * (moved(k) - moved(-k)) for k, w in weights.items()) / step


def curvature(function, theta, direction, step=mp.mpf("1e-4")):
    """Second derivative along a direction, from seven points; errs as the sixth power of the step."""
    weights = {0: -mp.mpf(49) / 18, 1: mp.mpf(3) / 2, 2: -mp.mpf(3) / 20, 3: mp.mpf(1) / 90}
    moved = lambda k: function([t + k * step * d for t, d in zip(theta, direction)])
    return sum(w * (moved(k) + moved(-k) if k else moved(0)) for k, w in weights.items()) / step**2


def graded_function(case, theta):
    """The contribution of a graded case, on grids that stand still while the parameters move."""
    grid = Quantiles(case, theta).grid()
    entry = at_entry(case)
    entry_grid = Quantiles(case, theta, entry).grid() if entry else None

    def function(point):
        value = Quantiles(case, point).log_integral(grid) + Quantiles(case, point).noticing()
        return value - Quantiles(case, point, entry).log_integral(entry_grid) if entry else value

    return function


def check_graded(case, with_derivatives):
    theta = [mp.mpf(t) for t in case["theta"]]
    function = graded_function(case, theta)
    agree(case, "value", function(theta), case["value"], 1, mp.mpf("1e-18"))
    if with_derivatives:
        check_graded_derivatives(case, theta, function)


def check_graded_derivatives(case, theta, function):
    size = len(theta)
    for i in range(size):
        agree(case, f"gradient {i}", central(function, theta, i), case["gradient"][i], 1, mp.mpf("1e-16"))
    # Unequal steps in every parameter, so that every entry of the Hessian takes part.
    direction = [mp.mpf(i + 1) / size for i in range(size)]
    wanted = sum(direction[i] * direction[j] * mp.mpf(case["hessian"][i][j])
                 for i in range(size) for j in range(size))
    agree(case, "hessian", curvature(function, theta, direction), wanted, 1, mp.mpf("1e-14"))


def main():
    # Numbers are kept as text by parse_float; inputs are made doubles again, answers keep 20 digits.
    cases = [restored(case) for case in json.loads(CASES.read_text(), parse_float=str)["cases"]]
    for case in cases:
        if case["kind"] != "graded":
            with mp.workdps(400):
                check_direct(case)
    print("exact, right, left, interval: value, gradient and Hessian of every case to 1e-19")
    check_all_graded([c for c in cases if c["kind"] == "graded"])


def check_all_graded(cases):
    with mp.workdps(40):
        for number, case in enumerate(cases):
            check_graded(case, number % 9 == 0 and case["regime"] == "moderate")
    print(f"graded: values of all {len(cases)} cases to 1e-18; of every ninth, where moderate, "
          "gradients to 1e-16 and Hessians, along one direction, to 1e-14")


def restored(thing, answer=False):
    if isinstance(thing, dict):
        keys = ("value", "gradient", "hessian")
        return {k: restored(v, answer or k in keys) for k, v in thing.items()}
    if isinstance(thing, list):
        return [restored(v, answer) for v in thing]
    return float(thing) if isinstance(thing, str) and not answer and is_number(thing) else thing


def is_number(text):
    try:
        float(text)
    except ValueError:
        return False
    return True


if __name__ == "__main__":
    main()
