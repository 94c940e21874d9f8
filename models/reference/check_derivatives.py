"""Hold the answers in tests/reference/likelihood.json against a second road to each.

Made and run with Python 3.11.7, mpmath 1.4.1 (gmpy2 2.3.2 for speed).

    python models/reference/check_derivatives.py

Exact, right, left and interval: the formulas written out once more on plain numbers, and numerical
derivatives of them (mpmath's diff); the age walks through the edge's life, from touch-up to touch-up,
where the reference counts the touch-ups that came after. Where touch-ups matter, the gathered hazard
of every fourth moderate case is also integrated over the clock, f/S at the virtual age hour by hour.
Graded: the integral on the normal quantile scale, T at the quantile Phi(x) of its law, instead of on
the scale of W.
"""

import json
from multiprocessing import Pool
from pathlib import Path

from mpmath import mp

CASES = Path(__file__).resolve().parents[2] / "tests" / "reference" / "likelihood.json"
PRINTED = mp.mpf("1e-19")  # 20 digits are printed
BELOW_EVERY_DOUBLE = mp.mpf("1e-310")  # times 1e-19: what is printed as zero
DIFFERENCE_DIGITS = 100  # mpmath's diff works to three times as many for second derivatives
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
    return location, theta[split:-3], mp.exp(theta[-2]), anchor


def kept(theta):
    """Share of the wear so far that a touch-up leaves."""
    return 1 / (1 + mp.exp(theta[-3]))


def eye_of(theta):
    return mp.exp(theta[-1])


def wear_between(case, beta, start, stop):
    hours = lambda s: max(mp.mpf(0), min(stop, mp.mpf(s["stop"])) - max(start, mp.mpf(s["start"])))
    return sum(hours(s) * rate(s["parts"], beta) for s in case["segments"])


def age(case, theta, time, touched_up=False):
    """Walks from fresh to a time; a touch-up at that very time is done only if asked for."""
    beta, time = unpacked(case, theta)[1], mp.mpf(time)
    u, now = mp.mpf(0), mp.mpf(0)
    for at in sorted(map(mp.mpf, case["touch_ups"])):
        if at < time or (at == time and touched_up):
            u, now = (u + wear_between(case, beta, now, at)) * kept(theta), at
    return u + wear_between(case, beta, now, time)


def rate_at(case, theta, time):
    beta = unpacked(case, theta)[1]
    return next(rate(s["parts"], beta) for s in case["segments"] if s["start"] < time <= s["stop"])


def hazard_of(case, theta, u):
    """-ln S at an age, as if there had been no touch-up."""
    location, _, sigma, anchor = unpacked(case, theta)
    if u == 0:
        return mp.mpf(0)
    w = (mp.log(u) - location) / sigma + anchor
    if case["family"] == "weibull":
        return mp.exp(w)
    if case["family"] == "lognormal":
        return -mp.log1p(-normal(w)) if w < 0 else -mp.log(normal(-w))
    return mp.log1p(mp.exp(w))


def gathered(case, theta, start, stop):
    """Hazard gathered within (start, stop], walking from touch-up to touch-up."""
    start, stop = mp.mpf(start), mp.mpf(stop)
    inside = sorted({mp.mpf(at) for at in case["touch_ups"] if start < at < stop})
    total, now = mp.mpf(0), start
    for at in [*inside, stop]:
        fresh = age(case, theta, now, touched_up=True)
        worn = fresh + wear_between(case, unpacked(case, theta)[1], now, at)
        total += hazard_of(case, theta, worn) - hazard_of(case, theta, fresh)
        now = at
    return total


def log_hazard(case, theta, time):
    """ln of the hazard per clock hour: hazard of W, over sigma u, times the wear rate."""
    location, _, sigma, anchor = unpacked(case, theta)
    u = age(case, theta, time)
    w = (mp.log(u) - location) / sigma + anchor
    clock = mp.log(rate_at(case, theta, time) / (sigma * u))
    if case["family"] == "weibull":
        return w + clock
    if case["family"] == "lognormal":
        return -w * w / 2 - mp.log(2 * mp.pi) / 2 + hazard_of(case, theta, u) + clock
    return -mp.log1p(mp.exp(-w)) + clock


def log_chance_of(hazard):
    """ln(1 - exp(-hazard)); hazards above one keep the digits of exp(-hazard) itself."""
    return mp.log(-mp.expm1(-hazard)) if hazard < 1 else mp.log1p(-mp.exp(-hazard))


def plain(case, theta, hazard=None):
    """The contribution, all kinds but graded, through the gathered hazard alone."""
    times, entry = case["times"], case["entry"] or 0
    hazard = hazard or (lambda start, stop: gathered(case, theta, start, stop))
    if case["kind"] == "exact":
        return log_hazard(case, theta, times["at"]) - hazard(entry, times["at"])
    if case["kind"] == "right":
        return -hazard(entry, times["at"])
    if case["kind"] == "left":
        return log_chance_of(hazard(entry, times["at"]))
    return log_chance_of(hazard(times["after"], times["by"])) - hazard(entry, times["after"])


def integrated(case, theta, start, stop):
    """The hazard by the hour, integrated over the clock."""
    seams = [*case["touch_ups"], *(s["stop"] for s in case["segments"])]
    seams = sorted({mp.mpf(at) for at in [start, stop, *seams] if start <= at <= stop})
    by_hour = lambda time: mp.exp(log_hazard(case, theta, time))
    return mp.quad(by_hour, seams) if len(seams) > 1 else mp.mpf(0)


# --- looks on the quantile scale ---------------------------------------------------------------


def normal(x):
    return mp.erfc(-x / mp.sqrt(2)) / 2


def quantile(family, x):
    """W at the quantile Phi(x) of its law."""
    if family == "weibull":
        return mp.log(-mp.log1p(-normal(x)) if x < 0 else -mp.log(normal(-x)))
    return x if family == "lognormal" else mp.log(normal(x) / normal(-x))


def chance(case, look, v, eye):
    """Chance of what was seen at wear fraction v, or its density in the log fraction."""
    if look["sight"] == "measured":
        told = mp.mpf(look["ratio"]) ** (1 / mp.mpf(case["flat_exponent"]))
        return bell(mp.log(told / v), mp.mpf(case["flat_error"]))
    if look["sight"] == "noticed":
        return bell(mp.log((mp.mpf(case["called_at"]) if look["late"] else 1) / v), eye)
    low, high = (scaled(cut, v, eye) for cut in CUTS[look["sight"]])
    return normal(-low) - normal(-high) if low > 0 else normal(high) - normal(low)


def bell(off, error):
    return mp.exp(-((off / error) ** 2) / 2) / mp.sqrt(2 * mp.pi) / error


def scaled(cut, v, eye):
    """Where a cut lies, in eye errors from what the eye meets; open ends are far away."""
    if cut is None:
        return mp.inf
    return (mp.log(mp.mpf(cut)) - mp.log(v)) / eye if cut else -mp.inf


def seen_looks(case):
    looks = list(case["looks"])
    if case["noticed"] is not None:
        looks.append({**case["noticed"], "sight": "noticed"})
    return looks + at_entry(case)


def at_entry(case):
    """Nobody had called the edge when it came into view."""
    return [] if case["entry"] is None else [{"at": case["entry"], "sight": "not_called"}]


class Quantiles:
    """The integral over the quantiles of the life's law, as a sum at evenly spaced x."""

    def __init__(self, case, theta, looks=None):
        self.case, self.theta, self.eye = case, theta, eye_of(theta)
        self.location, _, self.sigma, self.anchor = unpacked(case, theta)
        self.looks = seen_looks(case) if looks is None else looks
        self.ages = [age(case, theta, look["at"]) for look in self.looks]

    def term(self, x):
        life = mp.exp(self.location + self.sigma * (quantile(self.case["family"], x) - self.anchor))
        term = mp.exp(-x * x / 2) / mp.sqrt(2 * mp.pi)
        for look, u in zip(self.looks, self.ages):
            term *= chance(self.case, look, u / life, self.eye)
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
        errors = [mp.mpf(self.case["flat_error"]) if look["sight"] == "measured" else self.eye
                  for look in self.looks]
        together = 1 / mp.sqrt(sum(1 / error**2 for error in errors))
        finest = together / (self.sigma * steepest) / mp.mpf(2.5)
        step = min(mp.mpf(1) / 96, finest)
        return low, step, int((high - low) / step)  # the same for every point of a difference

    def log_integral(self, grid):
        low, step, count = grid
        return mp.log(sum(self.term(low + n * step) for n in range(count + 1)) * step)

    def noticing(self):
        if self.case["noticed"] is None:
            return mp.mpf(0)
        at = self.case["noticed"]["at"]
        return mp.log(rate_at(self.case, self.theta, at) / age(self.case, self.theta, at))


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
    idle = idle_parameters(case)
    for i in range(len(theta)):
        if i in idle:
            assert all(mp.mpf(x) == 0 for x in [case["gradient"][i], *case["hessian"][i]]), case["id"]
            continue
        agree(case, f"gradient {i}", partials(function, theta, [i]), case["gradient"][i],
              largest * mp.mpf("1e-6"), PRINTED)
        for j in (j for j in range(i + 1) if j not in idle):
            agree(case, f"hessian {i} {j}", partials(function, theta, [i, j]), case["hessian"][i][j],
                  curve * mp.mpf("1e-6"), PRINTED)


def idle_parameters(case):
    """Those with no part in a case that nobody looked at: the eye's error; and, untouched, the touch-up."""
    last = len(case["theta"]) - 1
    return {last} if case["touch_ups"] else {last, last - 2}


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


def check_clock(case):
    theta = [mp.mpf(t) for t in case["theta"]]
    value = plain(case, theta, lambda start, stop: integrated(case, theta, start, stop))
    agree(case, "value by the clock", value, case["value"], mp.mpf("1e-6"), mp.mpf("1e-15"))


def check_one(numbered):
    """Checks the case; the name of the group of checks that it went through."""
    number, case = numbered
    if case["kind"] == "graded":
        differentiate = number % 9 == 0 and case["regime"] == "moderate"
        with mp.workdps(40):
            check_graded(case, differentiate)
        return "graded, differentiated" if differentiate else "graded"
    with mp.workdps(DIFFERENCE_DIGITS):
        check_direct(case)
    if number % 4 or case["regime"] != "moderate" or not case["touch_ups"]:
        return "direct"
    with mp.workdps(40):
        check_clock(case)
    return "direct, by the clock"


def main():
    # Numbers are kept as text by parse_float; inputs are made doubles again, answers keep 20 digits.
    cases = [restored(case) for case in json.loads(CASES.read_text(), parse_float=str)["cases"]]
    with Pool() as workers:
        done = workers.map(check_one, list(enumerate(cases)), chunksize=1)
    count = lambda *names: sum(done.count(name) for name in names)
    print(f"exact, right, left, interval: value, gradient and Hessian of all "
          f"{count('direct', 'direct, by the clock')} cases to 1e-19")
    print(f"of these {count('direct, by the clock')} with touch-ups: the value by the clock to 1e-15")
    print(f"graded: values of all {count('graded', 'graded, differentiated')} cases to 1e-18; of "
          f"{count('graded, differentiated')} gradients to 1e-16 and Hessians, along one direction, to 1e-14")


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
