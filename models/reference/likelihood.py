"""The wear likelihood written a second time, slowly and to many digits.

Made and run with Python 3.11.7, mpmath 1.4.1 (gmpy2 2.3.2 for speed).

    ln T = location + z.gamma + sigma (W - a),      T in wear hours
    u(t) = sum over segments and parts of (hours before t) * share * exp(x.beta) * (1 - q)^n
    w(t) = (ln u(t) - location - z.gamma) / sigma + a

W is standard smallest extreme value (weibull), normal (lognormal) or logistic (loglogistic);
a is its median with anchor "median" (the location is then the log of median life), and 0 with anchor
"location" (for the Weibull the log of the age by which 63.2 % are dull).

q = 1 / (1 + exp(-touch_up)) is the share of all wear so far that a touch-up takes back, and n counts
the touch-ups that came after those hours and strictly before t: a look or an end at the very hour of a
touch-up is before it.

Parameters, in order: location, gamma..., beta..., touch_up, log_sigma, log_eye. A case is a dictionary
in the layout of tests/reference/likelihood.json; its numbers are doubles and are taken at their exact
binary value.

Known without error (exact, right, left, interval): the hazard at the virtual age, gathered from
touch-up to touch-up,

    G(a, b) = sum over phases within (a, b] of H(v_end) - H(v_start),      H(v) = -ln S(w at age v),

where v_start is the age just after the touch-up that begins the phase. With e the entry, or 0:

    right      -G(e, t)
    exact      ln(hazard at u(t)) + ln(wear rate at t) - G(e, t)
    interval   -G(e, a) + ln(1 - exp(-G(a, b)))
    left       ln(1 - exp(-G(e, b)))

A touch-up at the very hour of the entry (or of the interval's a) has been done when G starts there.

Known through an eye (graded): the present age u(t) against the life T that the edge was ground with,
integrated over the law of T. Grades and "noticed" see ln(u/T) with the error exp(log_eye); "noticed"
is a density of the log fraction, at 1, or at called_at when late. A measured flat of relative width
ratio is a density of x = ln(ratio) / flat_exponent, normal about ln(u/T) with its own error flat_error,
which is no parameter; the constant Jacobian from x to the width is left out. Entry here means that
nobody had called the edge by then: the look "not_called" at e joins the looks, and the integral over
that look alone is divided out.

Sources: censored-data likelihood, Kalbfleisch and Prentice (2002), chapters 2 and 3; accumulated
exposure, Nelson (1990), chapter 10; virtual age, Kijima (1989), Journal of Applied Probability 26,
89-102, second kind; trapezoid rule for analytic functions, Trefethen and Weideman (2014), SIAM Review
56, 385-458.
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


def log_hazard(family, w):
    """ln of the hazard of W."""
    if family == "weibull":
        return w
    if family == "lognormal":
        return w * w * mp.mpf(-0.5) - mp.log(2 * mp.pi) / 2 - log_normal_tail(w)
    return -jet_softplus(-w)


def log_normal_between(a, b):
    """ln(Phi(b) - Phi(a)), in terms that keep their digits when it is near zero or one."""
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
        self.touch_ups = [mp.mpf(time) for time in case["touch_ups"]]
        self.beta = jets[last_gamma:-3]
        touch_up, self.log_sigma, self.log_eye = jets[-3:]
        self.log_kept = -jet_softplus(touch_up)  # ln(1 - q)
        self.anchor = median(self.family) if case["anchor"] == "median" else mp.mpf(0)
        self.middle = jets[0] + dot(jets[1:last_gamma], case["z"], self.size)

    def wear_rate(self, segment):
        rate = Jet.constant(0, self.size)
        for part in segment["parts"]:
            rate += exp(dot(self.beta, part["x"], self.size)) * mp.mpf(part["share"])
        return rate

    def rate_at(self, time):
        for segment in self.segments:
            if segment["start"] < time <= segment["stop"]:
                return self.wear_rate(segment)
        raise ValueError(f"no segment holds {time}")

    def gained(self, after, by):
        """Wear hours within (after, by], as if nobody touched anything up."""
        wear = Jet.constant(0, self.size)
        for segment in self.segments:
            hours = min(by, mp.mpf(segment["stop"])) - max(after, mp.mpf(segment["start"]))
            if hours > 0:
                wear += self.wear_rate(segment) * hours
        return wear

    def age(self, time, touched_up=False):
        """Virtual age; a touch-up at this very time counts only if it is touched up by then."""
        time = mp.mpf(time)
        done = [at for at in self.touch_ups if at < time or (touched_up and at == time)]
        bounds = [mp.mpf(0), *done, time]
        age = Jet.constant(0, self.size)
        for number, (after, by) in enumerate(zip(bounds, bounds[1:])):
            wear, later = self.gained(after, by), len(done) - number
            age += wear * exp(self.log_kept * later) if later else wear
        return age

    def standard_age(self, age):
        return (log(age) - self.middle) * exp(-self.log_sigma) + self.anchor

    def hazard_of(self, age):
        """H: hazard gathered from fresh to this age, had there been no touch-up."""
        if age.value == 0:
            return Jet.constant(0, self.size)
        return -log_survival(self.family, self.standard_age(age))

    def hazard(self, after, by):
        """G: hazard gathered within (after, by], phase by phase."""
        after, by = mp.mpf(after), mp.mpf(by)
        between = sorted({at for at in self.touch_ups if after < at < by})
        bounds, gathered = [after, *between, by], Jet.constant(0, self.size)
        for start, end in zip(bounds, bounds[1:]):
            gathered += self.hazard_of(self.age(end)) - self.hazard_of(self.age(start, touched_up=True))
        return gathered


def dot(jets, numbers, size):
    total = Jet.constant(0, size)
    for jet, number in zip(jets, numbers, strict=True):
        total += jet * mp.mpf(number)
    return total


# --- known without error -----------------------------------------------------------------------


def dull_within(edge, after, by):
    return log_one_minus_exp(-edge.hazard(after, by))


def dull_at(edge, time):
    """ln of the hazard by the hour."""
    age = edge.age(time)
    by_log_age = log_hazard(edge.family, edge.standard_age(age)) - edge.log_sigma
    return by_log_age + log(edge.rate_at(time)) - log(age)


def known(edge, case):
    times, entry = case["times"], case["entry"] or 0.0
    if case["kind"] == "exact":
        return dull_at(edge, times["at"]) - edge.hazard(entry, times["at"])
    if case["kind"] == "right":
        return -edge.hazard(entry, times["at"])
    if case["kind"] == "left":
        return dull_within(edge, entry, times["at"])
    return dull_within(edge, times["after"], times["by"]) - edge.hazard(entry, times["after"])


# --- looks: an integral over the law of T ------------------------------------------------------


class Glance:
    """One look: the log of its chance, as a jet in d = ln(u/T) and in log_eye."""

    def __init__(self, look, case, log_eye):
        self.seen, self.low, self.high = None, None, None
        self.log_error = Jet(log_eye, [mp.mpf(0), mp.mpf(1)], Jet.constant(0, 2).hessian)
        if look["sight"] == "measured":
            self.seen = mp.log(mp.mpf(look["ratio"])) / mp.mpf(case["flat_exponent"])
            self.log_error = Jet.constant(mp.log(mp.mpf(case["flat_error"])), 2)
        elif look["sight"] == "noticed":
            self.seen = mp.log(mp.mpf(case["called_at"])) if look["late"] else mp.mpf(0)
        else:
            self.low, self.high = (
                None if cut is None else mp.log(mp.mpf(cut)) for cut in GRADE_BANDS[look["sight"]]
            )

        self.in_errors = exp(-self.log_error)

    def log_chance(self, d):
        d = Jet(d, [mp.mpf(1), mp.mpf(0)], Jet.constant(0, 2).hessian)
        if self.seen is not None:
            y = (self.seen - d) * self.in_errors
            return y * y * mp.mpf(-0.5) - mp.log(2 * mp.pi) / 2 - self.log_error
        low, high = (None if cut is None else (cut - d) * self.in_errors for cut in (self.low, self.high))
        if low is None:
            return log_normal_tail(-high)
        return log_normal_tail(low) if high is None else log_normal_between(low, high)


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

    def __init__(self, edge, looks, case):
        self.edge, self.size = edge, edge.size
        self.sigma = mp.exp(edge.log_sigma.value)
        self.looks = [(log(edge.age(look["at"])) - edge.middle, Glance(look, case, edge.log_eye.value))
                      for look in looks]

    def slope(self, w):
        """Value, slope and curvature of the log integrand along W."""
        value, slope, curve = law(self.edge.family, w)
        shift = self.sigma * (w - self.edge.anchor)
        for offset, glance in self.looks:
            seen = glance.log_chance(offset.value - shift)
            value, slope = value + seen.value, slope - self.sigma * seen.gradient[0]
            curve += self.sigma**2 * seen.hessian[0][0]
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
        spread = self.size - 2
        for offset, glance in self.looks:
            d = Jet(offset.value - shift, list(offset.gradient), [list(r) for r in offset.hessian])
            d.gradient[spread] -= shift
            d.hessian[spread][spread] -= shift
            total += self.in_parameters(glance.log_chance(d.value), d)
        return total

    @staticmethod
    def in_parameters(seen, d):
        """The chain rule from (d, log_eye) to all parameters; log_eye is the last, and d is free of it."""
        jet = d.through(seen.value, seen.gradient[0], seen.hessian[0][0])
        mixed = [seen.hessian[1][0] * slope for slope in d.gradient]
        jet.gradient[-1] += seen.gradient[1]
        jet.hessian[-1] = [h + m for h, m in zip(jet.hessian[-1], mixed)]
        jet.hessian[-1][-1] += seen.hessian[1][1]
        return jet

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
        sharp = sum((self.sigma * glance.in_errors.value) ** 2 for _, glance in self.looks)
        tight = -curve + sharp + 36
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
        looks.append({**noticed, "sight": "noticed"})
        outside = log(edge.rate_at(noticed["at"])) - log(edge.age(noticed["at"]))
    if case["entry"] is not None:
        not_called = {"at": case["entry"], "sight": "not_called"}
        looks.append(not_called)
        outside = outside - LookIntegral(edge, [not_called], case).evaluate()
    return LookIntegral(edge, looks, case).evaluate() + outside


# --- the whole contribution --------------------------------------------------------------------


def contribution(case, theta=None):
    """Log-likelihood of one edge: a jet in the parameters."""
    if case["kind"] == "graded":
        with mp.workdps(INTEGRAL_DIGITS):
            return graded(Edge(case, theta), case)
    with mp.workdps(DIGITS):
        return known(Edge(case, theta), case)
