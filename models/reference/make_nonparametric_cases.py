"""Reference values for the nonparametric side of checking a law of life.

Writes tests/reference/nonparametric.json. Made and run with Python 3.11.7 and
    lifelines==0.30.3 surpyval==0.25 scikit-gof==0.1.3 scipy==1.17.1 numpy==2.4.6 mpmath==1.4.1
    /somewhere/else/bin/python models/reference/make_nonparametric_cases.py

What stands where:
- kaplan_meier: lifelines' KaplanMeierFitter (with entry for late entry), held against surpyval's
  Greenwood sums; bands on the logit by the formula, from lifelines' numbers.
- turnbull: survival where it is defined and the log-likelihood, by plain self-consistency (Turnbull
  1976, equation 3.1 with the ghosts of late entry) on every elementary piece of the line, accelerated
  (SQUAREM, Varadhan and Roland 2008) and run until the Kuhn-Tucker conditions hold to 1e-9; held to
  1e-5 against surpyval's Turnbull.
- equal_precision: surpyval's numerical critical value of the standardised bridge.
- anderson_darling: the limiting law by the integral of Anderson and Darling (1952) in mpmath, with
  scikit-gof's correction for the number of scores; scipy's statistic.
"""

import csv
import json
import sys
import types
import warnings
from pathlib import Path

import numpy as np
import scipy.stats
from lifelines import KaplanMeierFitter
from lifelines.datasets import load_multicenter_aids_cohort_study
from mpmath import binomial, exp, inf, mp, mpf, pi, quad, sqrt
from surpyval import KaplanMeier, Turnbull
from surpyval.univariate.nonparametric._bands import _critical_value

# The front of scikit-gof 0.1.3 needs an older numpy; the one module wanted does not.
sys.modules["skgof"] = types.ModuleType("skgof")
sys.modules["skgof"].__path__ = [str(Path(np.__file__).parents[1] / "skgof")]
from skgof.addist import ad_unif, ad_unif_fix  # noqa: E402

warnings.filterwarnings("ignore")
TOP = Path(__file__).resolve().parents[2]
INF = float("inf")

# Breast cosmesis, months to retraction: Finkelstein and Wolfe, Biometrics 41, 1985; as printed in the
# sample library of the SAS/STAT procedure ICLIFETEST (example 2). "." is right-censored.
RADIOTHERAPY = """45 . 25 37 37 . 6 10 46 . 0 5 0 7 26 40 18 . 46 . 46 . 24 . 46 . 27 34 36 . 7 16 36 44
5 11 17 . 46 . 19 35 7 14 36 48 17 25 37 44 37 . 24 . 0 8 40 . 32 . 4 11 17 25 33 . 15 . 46 . 19 26
11 15 11 18 37 . 22 . 38 . 34 . 46 . 5 12 36 . 46 ."""
CHEMOTHERAPY = """8 12 0 5 30 34 0 22 5 8 13 . 24 31 12 20 10 17 17 27 11 . 8 21 17 23 33 40 4 9 24 30
31 . 11 . 16 24 13 39 14 19 13 . 19 32 4 8 11 13 34 . 34 . 16 20 13 . 30 36 18 25 16 24 18 24 17 26
35 . 16 60 32 . 15 22 35 39 23 . 11 17 21 . 44 48 22 32 11 20 14 17 10 35 48 ."""


def cosmesis(text):
    cells = text.split()
    pairs = zip(cells[::2], cells[1::2])
    return [[float(a), INF if b == "." else float(b), 1.0, 0.0] for a, b in pairs]


def table(name):
    with open(TOP / "datasets/published" / name, newline="") as file:
        rows = list(csv.DictReader(file))
    return [[float(r["lower"]), float(r["upper"]), float(r["weight"]), 0.0] for r in rows]


def pieces(rows):
    """Every elementary piece of the line: the ages themselves and the gaps between them."""
    ages = sorted({x for lower, upper, _, entry in rows for x in (lower, upper, entry) if x < INF} | {0.0})
    line = []
    for age, after in zip(ages, ages[1:] + [INF]):
        line += [(age, age), (age, after)]
    return line


def within(piece, lower, upper):
    """Whether an event in this piece is one in (lower, upper], or at lower == upper."""
    low, high = piece
    if lower == upper:
        return low == high == lower
    point = low == high
    return (lower < low <= upper) if point else (lower <= low and high <= upper)


def sets(rows):
    line = pieces(rows)
    seen = np.array([[within(p, max(lower, entry) if lower < upper else lower, upper) for p in line]
                     for lower, upper, _, entry in rows], float)
    view = np.array([[within(p, entry, INF) or (entry == 0) for p in line] for *_, entry in rows], float)
    weight = np.array([w for _, _, w, _ in rows])
    keep = seen.any(axis=1)
    kept = seen[keep].any(axis=0)
    return [p for p, k in zip(line, kept) if k], seen[keep][:, kept], view[keep][:, kept], weight[keep]


def log_likelihood(p, seen, view, weight):
    return float(weight @ (np.log(seen @ p) - np.log(view @ p)))


def slopes(p, seen, view, weight):
    return seen.T @ (weight / (seen @ p)) - view.T @ (weight / (view @ p))


def step(p, seen, view, weight):
    """Turnbull's self-consistency with ghosts: unseen lives for each life that came into view late."""
    ghosts = (1 - view).T @ (weight / (view @ p))
    new = p * (seen.T @ (weight / (seen @ p)) + ghosts)
    return new / new.sum()


def npmle(rows):
    line, seen, view, weight = sets(rows)
    p = np.full(len(line), 1.0 / len(line))
    for round_ in range(400000):
        one = step(p, seen, view, weight)
        two = step(one, seen, view, weight)
        r, v = one - p, two - one - (one - p)
        length = -np.sqrt((r @ r) / max(v @ v, 1e-300))
        tried = p - 2 * length * r + length**2 * v
        if tried.min() >= 0 and log_likelihood(np.maximum(tried, 1e-300), seen, view, weight) >= log_likelihood(
            two, seen, view, weight
        ):
            two = step(np.maximum(tried / tried.sum(), 1e-300), seen, view, weight)
        p = two
        if round_ % 50 == 0:
            d = slopes(p, seen, view, weight) / weight.sum()
            if d.max() < 1e-9 and np.abs(d * p).max() < 1e-12:
                break
    d = slopes(p, seen, view, weight) / weight.sum()
    print("   rounds", round_, "largest slope", d.max(), "mass times slope", np.abs(d * p).max())
    return line, p, log_likelihood(p, seen, view, weight)


def survival(line, p, age):
    """Lowest and highest share of lives beyond an age, given the masses of the pieces."""
    sure = sum(m for (low, high), m in zip(line, p) if low >= age and not (low == high == age))
    may = sum(m for (low, high), m in zip(line, p) if low < age < high)
    return sure, sure + may


def surpyval_turnbull(rows, ages):
    xl = [lower if lower == upper else max(lower, entry) for lower, upper, _, entry in rows]
    xr = [upper for _, upper, _, _ in rows]
    n = [int(w) for *_, w, _ in rows]
    entries = [e if e > 0 else -INF for *_, e in rows]
    late = any(e > 0 for *_, e in rows)
    model = Turnbull.fit(xl=xl, xr=xr, n=n, tl=entries if late else None, turnbull_estimator="Kaplan-Meier",
                         tol=1e-13, max_iter=200000)
    return model.sf(np.array(ages))


def turnbull_case(name, rows, source, published=None):
    print(name)
    line, p, value = npmle(rows)
    ages = sorted({x for lower, upper, *_ in rows for x in (lower, upper) if 0 < x < INF})
    answers = [(age, *survival(line, p, age)) for age in ages]
    # Where the estimate is defined: all the mass lies surely before or after.
    defined = [(age, low) for age, low, high in answers if high - low < 1e-7]
    other = surpyval_turnbull(rows, [a for a, _ in defined])
    off = [abs(o - s) for o, (_, s) in zip(other, defined) if not np.isnan(o)]
    print("   surpyval off by", max(off), "of", len(off))
    assert max(off) < 1e-5, name
    case = {"name": name, "source": source, "rows": [[l, u if u < INF else None, w, e] for l, u, w, e in rows],
            "survival": defined, "log_likelihood": value}
    if published:
        case["published"] = published
    return case


def hidden(seed, count, late):
    """Invented lives of all kinds, Weibull of shape 2 and scale 40, rounded to whole ages."""
    random = np.random.default_rng(seed)
    rows = []
    while len(rows) < count:
        life = 40 * random.weibull(2.0)
        entry = float(np.floor(random.uniform(0, 25))) if late and random.random() < 0.5 else 0.0
        if life <= entry + 1:
            continue
        kind = random.random()
        if kind < 0.2:
            at = float(np.ceil(life))
            rows.append([at, at, 1.0, entry])
        elif kind < 0.4:
            stop = entry + 1 + float(np.floor(random.uniform(5, 50)))
            rows.append([stop, INF, 1.0, entry] if life > stop else [entry, stop, 1.0, entry])
        else:
            width = float(np.ceil(random.uniform(3, 15)))
            start = max(entry, float(np.floor(life - random.uniform(0, width))))
            start = min(start, np.floor(life))
            end = max(start + width, float(np.ceil(life)))
            rows.append([float(start), float(end), 1.0, entry])
    return rows


def kaplan_meier_case(name, rows, source):
    times = [r[0] for r in rows]
    events = [r[1] < INF for r in rows]
    weights = [r[2] for r in rows]
    entries = [r[3] for r in rows]
    fitter = KaplanMeierFitter().fit(times, events, entry=entries if any(entries) else None, weights=weights)
    at = [float(t) for t in fitter.event_table.index[fitter.event_table["observed"] > 0]]
    survival = [float(s) for s in fitter.predict(at)]
    table = fitter.event_table
    at_risk = table["at_risk"][table["observed"] > 0].to_numpy(float)
    deaths = table["observed"][table["observed"] > 0].to_numpy(float)
    with np.errstate(divide="ignore"):
        greenwood = np.cumsum(deaths / (at_risk * (at_risk - deaths)))
    other = KaplanMeier.fit(times, [0 if e else 1 for e in events], n=[int(w) for w in weights],
                            tl=entries if any(entries) else None)
    spots = np.searchsorted(other.x, at)
    assert np.allclose(other.R[spots], survival, atol=1e-12), name
    finite = np.array(survival) > 1e-12
    assert np.allclose(np.asarray(other.greenwood)[spots][finite], greenwood[finite], rtol=1e-9), name
    errors = [s * np.sqrt(g) if s > 1e-12 else None for s, g in zip(survival, greenwood)]
    # 90 % pointwise bands on the logit of the share that had ended (Meeker and Escobar 1998, eq. 3.16).
    bands = []
    for s, e in zip(survival, errors):
        if e is None:
            bands.append(None)
            continue
        f = 1 - s
        w = np.exp(scipy.stats.norm.ppf(0.95) * e / (f * s))
        bands.append([f / (f + s * w), f / (f + s / w)])
    print(name, len(at), "deaths at distinct ages")
    return {"name": name, "source": source,
            "rows": [[l, u if u < INF else None, w, e] for l, u, w, e in rows],
            "ages": at, "survival": survival, "standard_errors": errors, "bands_90": bands}


def limiting_law(z):
    """P(A^2 < z) by Anderson and Darling (1952): a series of integrals."""
    mp.dps = 30
    z = mpf(z)
    total = mpf(0)
    for j in range(60):
        k = 4 * j + 1
        integral = quad(lambda w: exp(z / (8 * (1 + w * w)) - k * k * pi**2 * w * w / (8 * z)), [0, 1 / mpf(k), 8 / mpf(k), inf])
        term = sqrt(2 * pi) / z * binomial(mpf(-1) / 2, j) * k * exp(-k * k * pi**2 / (8 * z)) * integral
        total += term
        if abs(term) < mpf(10) ** -22:
            break
    return float(total)


def upper_tail(n, statistic):
    """The integral with scikit-gof's finite-sample correction: its own limiting law keeps five digits."""
    if n == 1:
        return float(ad_unif.sf(statistic, 1))
    limit = limiting_law(statistic)
    assert abs(float(ad_unif.cdf(statistic, n)) - limit - ad_unif_fix(n, limit)) < 3e-5
    return float(np.clip(1 - limit - ad_unif_fix(n, limit), 0, 1))


def anderson_darling():
    random = np.random.default_rng(11)
    samples = []
    for n in (1, 2, 7, 30, 200):
        x = random.normal(0.1, 1.1, n)
        i = np.arange(1, n + 1)
        low, high = scipy.stats.norm.logcdf(np.sort(x)), scipy.stats.norm.logsf(np.sort(x)[::-1])
        statistic = float(-n - np.sum((2 * i - 1) * (low + high)) / n)
        if n > 2:
            fit = scipy.stats.goodness_of_fit(scipy.stats.norm, x, known_params={"loc": 0, "scale": 1},
                                              statistic="ad", n_mc_samples=9)
            assert abs(fit.statistic - statistic) < 1e-10
        samples.append({"scores": [float(v) for v in x], "statistic": statistic,
                        "p_value": upper_tail(n, statistic)})
    # From below the turn of the correction to far out.
    tails = [[n, a, upper_tail(n, a)] for n in (1, 2, 5, 20, 100)
             for a in (0.15, 0.2, 0.3, 0.5, 1.0, 1.5, 2.0, 2.5, 4.0, 6.0) if n > 1 or a > 0.39]
    limits = [[z, limiting_law(z)] for z in (0.1, 0.2, 0.5, 0.8, 1.0, 1.933, 2.492, 3.857, 6.0, 10.0, 20.0)]
    return {"samples": samples, "upper_tails": tails, "limiting_law": limits}


def main():
    aids = load_multicenter_aids_cohort_study()
    late = [[float(t), float(t) if d else INF, 1.0, float(w)] for t, d, w in zip(aids["T"], aids["D"], aids["W"])]
    printed_rt = {"steps": [[4, 5, 0.0463], [6, 7, 0.0334], [7, 8, 0.0887], [11, 12, 0.0708], [24, 25, 0.0926],
                            [33, 34, 0.0818], [38, 40, 0.1209], [46, 48, 0.4656]],
                  "source": "Fay and Shaw, Journal of Statistical Software 36(2), 2010, fit of the radiation group (masses from memory, ends by Turnbull's rule)"}
    printed_ct = {"steps": [[4, 5, 0.0433], [5, 8, 0.0433], [11, 12, 0.0692], [16, 17, 0.1454], [18, 19, 0.1411],
                            [19, 20, 0.1157], [24, 25, 0.0999], [30, 31, 0.0709], [35, 36, 0.1608], [44, 48, 0.0552],
                            [48, 60, 0.0552]],
                  "source": "the same, radiation and chemotherapy"}
    library = "Finkelstein and Wolfe, Biometrics 41, 1985; SAS/STAT sample library, ICLIFETEST example 2"
    answers = {
        "made_by": "models/reference/make_nonparametric_cases.py, which says how",
        "kaplan_meier": [
            kaplan_meier_case("units stopped at 500", table("simulated_units_stopped_at_500.csv"), "datasets/published"),
            kaplan_meier_case("glass capacitors, all cells together", table("glass_capacitors.csv"), "datasets/published"),
            kaplan_meier_case("insulating fluid", table("insulating_fluid.csv"), "datasets/published"),
            kaplan_meier_case("late entry", late,
                              "Multicenter AIDS Cohort Study, as lifelines 0.30.3 carries it (Klein and Moeschberger)"),
        ],
        "turnbull": [
            turnbull_case("cosmesis, radiotherapy", cosmesis(RADIOTHERAPY), library, printed_rt),
            turnbull_case("cosmesis, radiotherapy and chemotherapy", cosmesis(CHEMOTHERAPY), library, printed_ct),
            turnbull_case("cracked turbine parts", table("cracked_turbine_parts.csv"), "datasets/published"),
            turnbull_case("turbine wheels", table("turbine_wheels.csv"), "datasets/published"),
            turnbull_case("mixed censoring", table("mixed_censoring.csv"), "datasets/published"),
            turnbull_case("invented, all kinds", hidden(5, 80, False), "numpy default_rng(5)"),
            turnbull_case("invented, late entry", hidden(6, 80, True), "numpy default_rng(6)"),
            turnbull_case("invented, late entry again", hidden(9, 150, True), "numpy default_rng(9)"),
        ],
        "equal_precision": [[a, b, level, float(_critical_value(a, b, 1 - level, True))]
                            for level in (0.9, 0.95, 0.99)
                            for a, b in ((0.05, 0.95), (0.1, 0.9), (0.02, 0.6), (0.2, 0.5), (0.005, 0.98))],
        "anderson_darling": anderson_darling(),
    }
    text = json.dumps(answers, allow_nan=False)
    for key in ('{"name"', '"kaplan_meier"', '"turnbull"', '"equal_precision"', '"anderson_darling"', '"survival"',
                '"standard_errors"', '"bands_90"', '"log_likelihood"', '"published"', '"upper_tails"', '"limiting_law"'):
        text = text.replace(key, "\n" + key)
    (TOP / "tests/reference/nonparametric.json").write_text(text + "\n")


if __name__ == "__main__":
    main()
