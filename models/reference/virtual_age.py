"""Virtual age held against a published data set: writes tests/reference/virtual_age/maximum_likelihood.json.

Made and run with Python 3.11.7, mpmath 1.4.1, scipy 1.17.1.

    python models/reference/virtual_age.py

Six repairable systems; after a repair the age is q times all hours so far (Kijima, first kind: V grows by
q times each gap). The likelihood is written out here from its definition,

    ln f(V + x) - ln S(V) for a gap x that ended in a failure,    ln S(V + x) - ln S(V) for the last one,

maximised by scipy in doubles, polished by mpmath, and then computed once more by likelihood.py: each gap
as an edge with a past, touched up where the gap begins. Both must agree.
"""

import csv
import json
from pathlib import Path

import numpy as np
from mpmath import mp
from scipy.optimize import minimize

from jets import Jet, exp, log
from life_table import covariance
from likelihood import contribution

FOLDER = Path(__file__).resolve().parents[2] / "tests" / "reference" / "virtual_age"
DIGITS = 50
PRINTED = 20
OTHERS = {  # surpyval 0.25, generalised renewal process, Kijima type i, Weibull, fitted to the same data
    "scale": 1030.0345406498, "shape": 1.238298828550079, "kept": 0.10581157478759065,
    "log_likelihood": -210.3065195886524,
}


def gaps():
    """Hours at which each gap began and ended, and whether it ended in a failure."""
    found, system, before = [], None, 0.0
    with (FOLDER / "systems.csv").open(newline="") as lines:
        for row in csv.DictReader(lines):
            began = before if row["system"] == system else 0.0
            system, before = row["system"], float(row["hours"])
            found.append((began, before, row["censored"] == "0"))
    return found


# --- written out from the definition -----------------------------------------------------------


def log_likelihood(theta):
    """A jet in theta: ln scale, ln shape, ln q."""
    log_scale, log_shape, log_q = Jet.parameters(theta)
    shape, total = exp(log_shape), Jet.constant(0, 3)
    for began, ended, failed in gaps():
        gap = mp.mpf(ended) - mp.mpf(began)
        end = exp(log_q) * mp.mpf(began) + gap
        log_end = log(end) - log_scale
        total += -exp(shape * log_end)
        if began:
            total += exp(shape * (log_q + mp.log(mp.mpf(began)) - log_scale))
        if failed:
            total += log_shape - log_scale + (shape - 1) * log_end
    return total


def in_doubles(theta):
    scale, shape, q = np.exp(theta)
    began, ended, failed = (np.array(column) for column in zip(*gaps()))
    end = q * began + ended - began
    hazards = (end / scale) ** shape - (q * began / scale) ** shape
    return hazards.sum() - (failed * (np.log(shape / scale) + (shape - 1) * np.log(end / scale))).sum()


def maximum():
    """Newton from where scipy's search in doubles ends.

    From several starts: far down in q (as good as new) the likelihood is flat, a mere 0.13 lower.
    """
    searches = [minimize(in_doubles, [7.0, 0.2, log_q], method="Nelder-Mead",
                         options={"xatol": 1e-9, "fatol": 1e-12, "maxiter": 10_000})
                for log_q in (-4.0, -2.0, -0.5)]
    rough = min(searches, key=lambda search: search.fun)
    theta = [mp.mpf(t) for t in rough.x]
    for _ in range(8):
        jet = log_likelihood(theta)
        step = covariance(jet, [0, 1, 2]) * mp.matrix(jet.gradient)
        theta = [t + s for t, s in zip(theta, step)]
    assert max(abs(s) for s in step) < mp.mpf("1e-40")
    return theta, jet.value


# --- once more, as edges -----------------------------------------------------------------------


def as_edge(began, ended, failed):
    return {
        "family": "weibull", "kind": "exact" if failed else "right", "anchor": "location",
        "n_gamma": 0, "n_beta": 0, "z": [], "times": {"at": ended}, "entry": began or None,
        "segments": [{"start": 0.0, "stop": ended, "parts": [{"share": 1.0, "x": []}]}],
        "touch_ups": [began] if began else [],
    }


def as_edges(theta):
    """The jet in location, touch_up, log_sigma, log_eye; the share taken back is 1 - q."""
    log_scale, log_shape, log_q = theta
    touch_up = mp.log(-mp.expm1(log_q)) - log_q
    total = Jet.constant(0, 4)
    for gap in gaps():
        total += contribution(as_edge(*gap), [log_scale, touch_up, -log_shape, mp.log(mp.mpf("0.2"))])
    return total, [log_scale, touch_up, -log_shape]


def main():
    mp.dps = DIGITS
    theta, value = maximum()
    jet, edge_theta = as_edges(theta)
    assert abs(jet.value - value) < mp.mpf("1e-40"), "the two ways of writing it"
    assert max(abs(g) for g in jet.gradient) < mp.mpf("1e-40"), "no maximum as edges"
    spread = covariance(jet, [0, 1, 2])
    found = dict(zip(("scale", "shape", "kept"), map(mp.exp, theta)))
    assert abs(value - OTHERS["log_likelihood"]) < 1e-10, "the fit of others"
    for name, digits in (("scale", 1e-6), ("shape", 1e-6), ("kept", 3e-6)):
        assert abs(found[name] / OTHERS[name] - 1) < digits, name
    text = lambda x: mp.nstr(x, PRINTED)
    answer = {
        "made_with": "models/reference/virtual_age.py with Python 3.11.7, mpmath 1.4.1, scipy 1.17.1",
        **{name: text(x) for name, x in found.items()},
        "log_likelihood": text(value),
        "names": ["location", "touch_up", "log_sigma"],
        "theta": [text(t) for t in edge_theta],
        "standard_errors": [text(mp.sqrt(spread[i, i])) for i in range(3)],
        "surpyval_0_25": OTHERS,
    }
    (FOLDER / "maximum_likelihood.json").write_text(json.dumps(answer, indent=1) + "\n")
    print(f"maximum {text(value)}, as edges the same to 1e-40; surpyval to 1e-10")


if __name__ == "__main__":
    main()
