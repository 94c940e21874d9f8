"""The wear likelihood written a second time, slowly and to many digits.

Made and run with Python 3.11.7, mpmath 1.4.1 (gmpy2 2.3.2 for speed).

    ln T = log_median + z.gamma + sigma (W - a),      T in wear hours
    u(t) = sum over segments and parts of (hours before t) * share * exp(x.beta)
    w(t) = (ln u(t) - log_median - z.gamma) / sigma + a

W is standard smallest extreme value (weibull), normal (lognormal) or logistic (loglogistic);
a is its median with anchor "median", and 0 with anchor "location" (log_median is then the location:
for the Weibull the log of the age by which 63.2 % are dull).

Parameters, in order: log_median, gamma..., beta..., log_sigma. A case is a dictionary in the layout
of tests/reference/likelihood.json; its numbers are doubles and are taken at their exact binary value.

An entry e (left truncation) conditions on what kept the edge in view until then. For kinds that are
known without error that is T > u(e): right and exact lives divide by S(w(e)), a left-censored life is
known to have ended within (e, t]. For graded edges it is that nobody had called the edge by then: the
look "not_called" at e joins the looks, and the integral over that look alone is divided out.

Sources: censored-data likelihood, Kalbfleisch and Prentice (2002), chapters 2 and 3; accumulated
exposure, Nelson (1990), chapter 10; trapezoid rule for analytic functions, Trefethen and Weideman
(2014), SIAM Review 56, 385-458.
"""

from mpmath import mp

from jets import Jet, exp, log, log_one_minus, log_one_minus_exp

DIGITS = 100  # direct contributions
INTEGRAL_DIGITS = 50  # graded contributions
NATS_KEPT = 115  # the integrand is dropped where it has fallen by exp(-115), 1e-50
AGREEMENT = mp.mpf("1e-22")  # of two interleaved trapezoid sums; their mean errs far less

GRADE_BANDS = {  # wear fraction; common practice, set for this program (src/quantities/grade.rs)
    "keen": (None, 0.5),
    "working": (0.5, 0.85),
    "dull": (0.85, 1.15),
    "overrun": (1.15, None),
    "not_called": (None, 1.15),
}


# --- the laws of W -----------------------------------------------------------------------------


def median(family):
    return mp.log(mp.log(2)) if family == "weibull" else mp.mpf(0)


def density(x):
    return mp.exp(-x * x / 2) / mp.sqrt(2 * mp.pi)


def upper_tail(x):
    return mp.erfc(x / mp.sqrt(2)) / 2


def softplus(x):
    """ln(1 + exp(x))"""
    larger = max(x, mp.mpf(0))
    return larger + mp.log1p(mp.exp(-abs(x)))


def expit(x):
    return 1 / (1 + mp.exp(-x)) if x > 0 else mp.exp(x) / (1 + mp.exp(x))


def jet_softplus(x):
    p = expit(x.value)
    return x.through(softplus(x.value), p, p * expit(-x.value))


def jet_upper_tail(x):
    f = density(x.value)
    return x.through(upper_tail(x.value), -f, x.value * f)


def log_normal_tail(x):
    """ln of the upper tail of the normal law, all digits kept where the tail is nearly one."""
    value = mp.log(upper_tail(x.value)) if x.value > 0 else mp.log1p(-upper_tail(-x.value))
    hazard = density(x.value) / upper_tail(x.value)
    return x.through(value, -hazard, -hazard * (hazard - x.value))


def log_survival(family, w):
    if family == "weibull":
        return -exp(w)
    if family == "lognormal":
        return log_normal_tail(w)
    return -jet_softplus(w)


def log_failure(family, w):
    if family == "weibull":
        return log_one_minus_exp(-exp(w))
    if family == "lognormal":
        return log_normal_tail(-w)
    return -jet_softplus(-w)


def log_density(family, w):
    if family == "weibull":
        return w - exp(w)
    if family == "lognormal":
        return w * w * mp.mpf(-0.5) - mp.log(2 * mp.pi) / 2
    return w - 2 * jet_softplus(w)


def log_between(family, a, b):
    """ln(S(a) - S(b)), in terms that keep their digits when the difference is near zero or one."""
    if family == "weibull":
        low, high = exp(a), exp(b)
        return -low + log_one_minus_exp(low - high)
    if family == "lognormal":
        return log_normal_between(a, b)
    return log_one_minus_exp(a - b) - jet_softplus(a) - jet_softplus(-b)


def log_normal_between(a, b):
    if a.value < 0 < b.value:
        return log_one_minus(jet_upper_tail(-a) + jet_upper_tail(b))
    if a.value < 0:
        a, b = -b, -a
    return log(jet_upper_tail(a) - jet_upper_tail(b))


# --- one edge ----------------------------------------------------------------------------------


class Edge:
    """One case with its parameters as jets."""

    def __init__(self, case, theta=None):
        theta = case["theta"] if theta is None else theta
        jets = Jet.parameters([mp.mpf(value) for value in theta])
        last_gamma = 1 + case["n_gamma"]
        self.family, self.size = case["family"], len(theta)
        self.segments = case["segments"]
        self.beta, self.log_sigma = jets[last_gamma:-1], jets[-1]
        self.anchor = median(self.family) if case["anchor"] == "median" else mp.mpf(0)
        self.middle = jets[0] + dot(jets[1:last_gamma], case["z"], self.size)

    def wear_rate(self, segment):
        rate = Jet.constant(0, self.size)
        for part in segment["parts"]:
            rate += exp(dot(self.beta, part["x"], self.size)) * mp.mpf(part["share"])
        return rate

    def age(self, time):
        age, time = Jet.constant(0, self.size), mp.mpf(time)
        for segment in self.segments:
            start, stop = mp.mpf(segment["start"]), mp.mpf(segment["stop"])
            hours = min(time, stop) - start
            if hours > 0:
                age += self.wear_rate(segment) * hours
        return age

    def rate_at(self, time):
        for segment in self.segments:
            if segment["start"] < time <= segment["stop"]:
                return self.wear_rate(segment)
        raise ValueError(f"no segment holds {time}")

    def standard_age(self, time):
        """w(t); None where the age is zero and w is minus infinity."""
        age = self.age(time)
        if age.value == 0:
            return None
        return (log(age) - self.middle) * exp(-self.log_sigma) + self.anchor

    def log_survival(self, time):
        w = self.standard_age(time)
        return Jet.constant(0, self.size) if w is None else log_survival(self.family, w)


def dot(jets, numbers, size):
    total = Jet.constant(0, size)
    for jet, number in zip(jets, numbers, strict=True):
        total += jet * mp.mpf(number)
    return total


def exact(edge, time):
    log_rate = log(edge.rate_at(time)) - log(edge.age(time))
    return log_density(edge.family, edge.standard_age(time)) - edge.log_sigma + log_rate


def left(edge, time):
    return log_failure(edge.family, edge.standard_age(time))


def interval(edge, after, by):
    w = edge.standard_age(after)
    return left(edge, by) if w is None else log_between(edge.family, w, edge.standard_age(by))


# --- looks: an integral over the law of T ------------------------------------------------------


class Glance:
    """One look: the log of its chance, and that log's two derivatives, at a log wear fraction."""

    def __init__(self, look, eye_error):
        self.eye = mp.mpf(eye_error)
        self.fraction, self.low, self.high = None, None, None
        if look["sight"] == "measured":
            self.fraction = mp.log(mp.mpf(look["fraction"]))
        elif look["sight"] == "noticed":
            self.fraction = mp.mpf(0)
        else:
            self.low, self.high = (
                None if cut is None else mp.log(mp.mpf(cut)) for cut in GRADE_BANDS[look["sight"]]
            )

    def log_chance(self, d):
        return self._measured(d) if self.fraction is not None else self._graded(d)

    def _measured(self, d):
        y = (self.fraction - d) / self.eye
        value = -y * y / 2 - mp.log(2 * mp.pi) / 2 - mp.log(self.eye)
        return value, y / self.eye, -1 / self.eye**2

    def _graded(self, d):
        low, high = ((None if c is None else (c - d) / self.eye) for c in (self.low, self.high))
        chance = between(low, high)
        first, second = mp.mpf(0), mp.mpf(0)
        for y, sign in ((high, -1), (low, 1)):
            if y is not None:
                f = sign * density(y)
                first, second = first + f, second + y * f
        first, second = first / self.eye / chance, second / self.eye**2 / chance
        return mp.log(chance), first, second - first**2


def between(low, high):
    """Phi(high) - Phi(low); None stands for an open end."""
    if low is None:
        return upper_tail(-high)
    if high is None:
        return upper_tail(low)
    return upper_tail(low) - upper_tail(high) if low > 0 else upper_tail(-high) - upper_tail(-low)


def law(family, w):
    """ln f_W, its slope and its curvature."""
    if family == "weibull":
        e = mp.exp(w)
        return w - e, 1 - e, -e
    if family == "lognormal":
        return -w * w / 2 - mp.log(2 * mp.pi) / 2, -w, mp.mpf(-1)
    p = expit(w)
    return w - 2 * softplus(w), 1 - 2 * p, -2 * p * expit(-w)


class LookIntegral:
    """The integral over W of f_W times the chance of every look.

    The integrand is log-concave (so are all its factors): one peak, falling away on both sides. It
    is analytic near the real line and decays at least exponentially, so the plain trapezoid rule
    converges faster than any power of its step.
    """

    def __init__(self, edge, looks, eye_error):
        self.edge, self.size = edge, edge.size
        self.sigma = mp.exp(edge.log_sigma.value)
        self.looks = [(log(edge.age(look["at"])) - edge.middle, Glance(look, eye_error))
                      for look in looks]
        self.eye = mp.mpf(eye_error)

    def slope(self, w):
        """Value, slope and curvature of the log integrand along W."""
        value, slope, curve = law(self.edge.family, w)
        for offset, glance in self.looks:
            shift = self.sigma * (w - self.edge.anchor)
            v, first, second = glance.log_chance(offset.value - shift)
            value, slope, curve = value + v, slope - self.sigma * first, curve + self.sigma**2 * second
        return value, slope, curve

    def peak(self):
        low, high = mp.mpf(-1), mp.mpf(1)
        while self.slope(low)[1] < 0:
            low *= 2
        while self.slope(high)[1] > 0:
            high *= 2
        while high - low > mp.mpf("1e-3") * (1 + abs(low)):
            middle = (low + high) / 2
            low, high = (middle, high) if self.slope(middle)[1] > 0 else (low, middle)
        return (low + high) / 2

    def reach(self, peak, direction):
        """Distance from the peak at which the integrand has fallen by NATS_KEPT."""
        floor, near, far = self.slope(peak)[0] - NATS_KEPT, mp.mpf(0), mp.mpf(1) / 64
        while self.slope(peak + direction * far)[0] > floor:
            near, far = far, far * 2
        while far - near > far / 50:
            middle = (near + far) / 2
            above = self.slope(peak + direction * middle)[0] > floor
            near, far = (middle, far) if above else (near, middle)
        return far

    def node(self, w):
        """ln of the integrand at W with its derivatives in the parameters."""
        value = law(self.edge.family, w)[0]
        shift = self.sigma * (w - self.edge.anchor)
        total = Jet.constant(value, self.size)
        last = self.size - 1
        for offset, glance in self.looks:
            d = Jet(offset.value - shift, list(offset.gradient), [list(r) for r in offset.hessian])
            d.gradient[last] -= shift
            d.hessian[last][last] -= shift
            total += d.through(*glance.log_chance(d.value))
        return total

    def sums(self, start, stop, step, ceiling):
        """Trapezoid sums of the integrand, its gradient and its Hessian, over exp(ceiling)."""
        total, w = Jet.constant(0, self.size), start
        while w < stop:
            node = self.node(w)
            node.value -= ceiling
            total += exp(node)
            w += step
        return total * step

    def evaluate(self):
        with mp.workdps(20):
            peak = self.peak()
            below, above = self.reach(peak, -1), self.reach(peak, 1)
        ceiling, _, curve = self.slope(peak)
        tight = -curve + len(self.looks) * (self.sigma / self.eye) ** 2 + 36
        step = 1 / (mp.mpf("2.5") * mp.sqrt(tight))
        whole = self.sums(peak - below, peak + above, step, ceiling)
        while True:
            halves = self.sums(peak - below + step / 2, peak + above, step, ceiling)
            settled = apart(whole, halves) < AGREEMENT
            whole, step = (whole + halves) * mp.mpf(0.5), step / 2
            if settled:
                return log(whole) + ceiling


def apart(a, b):
    """Largest difference of two jets, order by order, against that order's largest entry.

    Never against less than the value itself: derivatives far below it come from beyond the range
    kept, and mean nothing but "zero".
    """
    orders = [([a.value], [b.value]), (a.gradient, b.gradient), (sum(a.hessian, []), sum(b.hessian, []))]
    return max(
        max(abs(p - q) for p, q in zip(x, y)) / max(abs(p) for p in [a.value, *x]) for x, y in orders
    )


def graded(edge, case):
    looks = list(case["looks"])
    outside = Jet.constant(0, edge.size)
    noticed = case["noticed"]
    if noticed is not None:
        looks.append({"at": noticed, "sight": "noticed"})
        outside = log(edge.rate_at(noticed)) - log(edge.age(noticed))
    if case["entry"] is not None:
        not_called = {"at": case["entry"], "sight": "not_called"}
        looks.append(not_called)
        outside = outside - LookIntegral(edge, [not_called], case["eye_error"]).evaluate()
    return LookIntegral(edge, looks, case["eye_error"]).evaluate() + outside


# --- the whole contribution --------------------------------------------------------------------


def contribution(case, theta=None):
    """Log-likelihood of one edge: a jet in the parameters."""
    with mp.workdps(INTEGRAL_DIGITS if case["kind"] == "graded" else DIGITS):
        edge = Edge(case, theta)
        total = seen(edge, case)
        if case["entry"] is not None and case["kind"] != "graded":
            total = total - edge.log_survival(case["entry"])
        return total


def seen(edge, case):
    times = case["times"]
    if case["kind"] == "exact":
        return exact(edge, times["at"])
    if case["kind"] == "right":
        return edge.log_survival(times["at"])
    if case["kind"] == "left":
        if case["entry"] is not None:
            return interval(edge, case["entry"], times["at"])
        return left(edge, times["at"])
    if case["kind"] == "interval":
        return interval(edge, times["after"], times["by"])
    return graded(edge, case)
