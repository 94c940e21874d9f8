"""The cost of one cycle of an edge, written a second time: straight from its definition, in 20 digits.

    python3 models/reference/cycle_costs.py > tests/reference/cycle_costs.json

    L(tau) = integral over (0, tau] of e^(-lambda t) S(t / w_call) dt
    N(tau) = integral over (0, tau] of e^(-lambda t) ( P f(t/w_call)/w_call + lambda S_x S(t/w_call)
             + c_d t E[1/T; T > t/w_call] ) dt
    C(tau) = (K + N) / L

The library never takes these integrals: it uses sums over lives, by parts. Needs mpmath.
"""
import json
from mpmath import mp, mpf, quad, exp, log, erfc, sqrt, pi, gamma, gammainc, hyp2f1, inf

mp.dps = 20


def law(family, sigma, location):
    """Density f, survival S and partial mean H(a) = E[1/T; T > a]."""
    def w(t):
        return (log(t) - location) / sigma
    theta = exp(location)
    if family == "weibull":
        S = lambda t: exp(-exp(w(t)))
        f = lambda t: exp(w(t) - exp(w(t))) / (sigma * t)
        H = lambda a: gammainc(1 - sigma, exp(w(a)), inf) / theta
    elif family == "lognormal":
        S = lambda t: erfc(w(t) / sqrt(mpf(2))) / 2
        f = lambda t: exp(-w(t) ** 2 / 2) / sqrt(2 * pi) / (sigma * t)
        H = lambda a: exp(-location + sigma ** 2 / 2) * erfc((w(a) + sigma) / sqrt(mpf(2))) / 2
    else:
        S = lambda t: 1 / (1 + exp(w(t)))
        f = lambda t: exp(w(t)) / (1 + exp(w(t))) ** 2 / (sigma * t)
        # with u = S(T): e^(-sigma W) = (u / (1 - u))^sigma, an incomplete beta function
        def H(a):
            u = S(a)
            return u ** (1 + sigma) / (1 + sigma) * hyp2f1(1 + sigma, sigma, 2 + sigma, u) / theta
    return f, S, H


def rate(case):
    sigma, location = mpf(case["sigma"]), mpf(case["location"])
    f, S, H = law(case["family"], sigma, location)
    lam, wc, K, P, Sx, cd, tau = (mpf(case[k]) for k in
                                  ["strikes_per_hour", "call_at", "planned", "forced_extra", "strike_extra",
                                   "running_at_dull", "interval"])
    # in log time, cut finely: shapes up to 50 are steep
    top = log(tau)
    cuts = sorted({top - mpf(k) * mpf(sigma if sigma < 1 else 1) * mpf("1.5") for k in range(0, 14)} | {top - 40}
                  | {top - k * sigma for k in (24, 32, 40, 50)})
    L = quad(lambda x: exp(x - lam * exp(x)) * S(exp(x) / wc), cuts)
    NP = quad(lambda x: exp(x - lam * exp(x)) * f(exp(x) / wc) / wc, cuts) if P else 0
    Nc = quad(lambda x: exp(2 * x - lam * exp(x)) * H(exp(x) / wc), cuts) if cd else 0
    return (K + P * NP + lam * Sx * L + cd * Nc) / L


def cases():
    money = dict(planned=90, forced_extra=150, strike_extra=400, running_at_dull=6)
    for family in ["weibull", "lognormal", "loglogistic"]:
        for sigma in ["0.02", "0.33", "0.8", "5"]:
            for multiple in ["0.5", "1.5"]:
                for lam in ["0", "0.004"]:
                    yield dict(family=family, sigma=sigma, location="4.0", strikes_per_hour=lam, call_at="1.3",
                               interval=mp.nstr(exp(4) * mpf(multiple), 17), **money)


if __name__ == "__main__":
    out = []
    for case in cases():
        out.append({k: float(v) if k != "family" else v for k, v in case.items()} | {"cost_per_hour": mp.nstr(rate(case), 17)})
    print(json.dumps({"made_with": "models/reference/cycle_costs.py, mpmath, 20 digits",
                      "definition": "log life = location + sigma W; cost per hour at the interval", "cases": out}, indent=1))
