"""Hold the reference likelihood against answers that others computed.

Made and run with Python 3.11.7, mpmath 1.4.1 (gmpy2 2.3.2 for speed).

    python models/reference/check_published.py

Every check is an assertion; the script says what held and fails loudly where one does not.
"""

import csv
import json
from decimal import Decimal
from pathlib import Path

from mpmath import mp

from jets import Jet
from life_table import bare_contribution, covariance, fit, log_likelihood
from likelihood import DIGITS

ROOT = Path(__file__).resolve().parents[2]
REFERENCE = ROOT / "tests" / "reference"
CHI_SQUARE_95 = mp.mpf("3.841458820694124")
NORMAL_975 = mp.mpf("1.959963984540054")


def read_json(path):
    return json.loads(path.read_text())


def read_csv(path):
    with path.open(newline="") as lines:
        return list(csv.DictReader(lines))


def close(got, wanted, tolerance, what):
    assert abs(got - mp.mpf(wanted)) <= tolerance, f"{what}: {mp.nstr(got, 20)}, wanted {wanted}"


# --- changing exposure -------------------------------------------------------------------------


def exposure(runs):
    """Segments of one edge and the hours at the end of each run; hours add up without rounding."""
    ends = [mp.mpf(0)]
    for run in runs:
        ends.append(ends[-1] + mp.mpf(run["hours"]))
    rows = [[mp.mpf(run[name]) for name in ("hard", "dirt", "frozen")] for run in runs]
    segments = [
        {"start": a, "stop": b, "parts": [{"share": 1, "x": x}]} for a, b, x in zip(ends, ends[1:], rows)
    ]
    return segments, ends


def edge_times(edge, ends):
    sharp = ends[int(edge["sharp_run"])]
    if edge["kind"] == "right":
        return {"at": sharp}
    dull = ends[int(edge["dull_run"])]
    return {"after": sharp, "by": dull} if edge["kind"] == "interval" else {"at": dull}


def exposure_log_likelihood(edges, runs, theta):
    total = Jet.constant(0, len(theta))
    for edge in edges:
        own = [run for run in runs if run["edge_id"] == edge["edge_id"]]
        segments, ends = exposure(own[: int(edge["n_runs"])])
        case = {
            "family": "weibull", "kind": edge["kind"], "anchor": "location", "n_gamma": 0, "n_beta": 3,
            "z": [], "segments": segments, "times": edge_times(edge, ends), "entry": None,
        }
        total += bare_contribution(case, theta)
    return total


def in_our_order(theta):
    """log characteristic life, log shape, coefficients -> the order of the reference likelihood."""
    return [theta[0], *theta[2:], -mp.mpf(theta[1])]


def check_changing_exposure():
    folder = REFERENCE / "changing_exposure"
    edges, runs = read_csv(folder / "edges.csv"), read_csv(folder / "runs.csv")
    answers = read_json(folder / "maximum_likelihood.json")
    attended = [edge for edge in edges if edge["regime"] == "attended"]
    for name, some in (("attended_only", attended), ("all_edges", edges)):
        answer = answers[name]
        assert len(some) == answer["n_edges"], name
        jet = exposure_log_likelihood(some, runs, in_our_order([mp.mpf(t) for t in answer["theta"]]))
        close(jet.value, answer["loglik"], mp.mpf("1e-12"), f"{name} log-likelihood")
        # theta is printed to 1e-16; times curvatures of a few hundred
        assert max(abs(g) for g in jet.gradient) < mp.mpf("1e-12"), f"{name} gradient"
        check_errors(jet, answer["se"], name)
        print(f"changing exposure, {name}: value to 1e-12, gradient zero, standard errors")


def check_errors(jet, errors, name):
    spread = covariance(jet, list(range(len(jet.gradient))))
    ours = [mp.sqrt(spread[i, i]) for i in range(len(errors))]
    for got, wanted in zip(ours, in_our_order(errors[:1] + [-errors[1]] + errors[2:])):
        close(got, wanted, mp.mpf("1e-12"), f"{name} standard error")


# --- life tables -------------------------------------------------------------------------------


def table_rows(table):
    """Rows as the doubles nearest to what is printed: that is what the published answers stand on."""
    names = table["covariates"]
    return [
        (float(r["lower"]), None if r["upper"] == "inf" else float(r["upper"]), float(r["weight"]),
         [float(r[name]) for name in names])
        for r in read_csv(ROOT / table["data"])
    ]


def check_life_tables():
    for name, table in read_json(REFERENCE / "life_tables.json")["pairs"].items():
        answer = table["answer"]
        theta = [mp.mpf(t) for t in answer["theta_20_digits"]]
        if table["fixed_shape"] is not None:
            theta.append(-mp.log(mp.mpf(table["fixed_shape"])))
        free = list(range(len(answer["theta_20_digits"])))
        jet = log_likelihood(table_rows(table), table["dist"], theta)
        close(jet.value, answer["loglik_20_digits"], abs(jet.value) * mp.mpf("1e-18"), name)
        spread = covariance(jet, free)
        for i in free:
            close(jet.gradient[i], 0, mp.mpf("1e-13"), f"{name} gradient")
            for j in free:
                room = mp.mpf("1e-11") * mp.sqrt(spread[i, i] * spread[j, j])
                close(spread[i, j], answer["vcov"][i][j], room, f"{name} covariance")
        print(f"{name}: log-likelihood to 1e-18, gradient zero, covariance to 1e-11")


# --- worked examples ---------------------------------------------------------------------------


def example_rows(example):
    return [(mp.mpf(str(low)), None if high is None else mp.mpf(str(high)), mp.mpf(weight), [])
            for low, high, weight in example["data"]]


def fitted_quantities(example):
    rows, family, shape = example_rows(example), example["distribution"], example["fixed_shape"]
    seen = [high or low for low, high, _, _ in rows]
    start = [mp.log(sum(seen) / len(seen)), -mp.log(mp.mpf(shape)) if shape else mp.mpf(-0.5)]
    free = [0] if shape else [0, 1]
    theta, jet = fit(rows, family, start, free)
    found = simple_quantities(theta, jet, covariance(jet, free))
    if shape:
        found.update(exponential_bounds(rows, theta, jet, found))
    else:
        found.update(spread_quantities(theta, covariance(jet, free)))
    return found


def simple_quantities(theta, jet, spread):
    life, error = mp.exp(theta[0]), mp.sqrt(spread[0, 0])
    return {
        "location": theta[0], "location_se": error, "characteristic_life": life,
        "characteristic_life_se": life * error, "log_likelihood": jet.value,
        "sigma": mp.exp(theta[1]), "shape": mp.exp(-theta[1]),
    }


def spread_quantities(theta, spread):
    sigma = mp.exp(theta[1])
    by_location, by_log_sigma = -1 / sigma, theta[0] / sigma  # of log_rate = -location / sigma
    variance = (by_location**2 * spread[0, 0] + by_log_sigma**2 * spread[1, 1]
                + 2 * by_location * by_log_sigma * spread[0, 1])
    return {
        "shape_se": mp.sqrt(spread[1, 1]) / sigma, "log_rate": -theta[0] / sigma,
        "log_rate_se": mp.sqrt(variance), "covariance_11": spread[0, 0],
        "covariance_12": sigma * spread[0, 1], "covariance_22": sigma**2 * spread[1, 1],
    }


def exponential_bounds(rows, theta, jet, found):
    def fall(location):
        return 2 * (jet.value - log_likelihood(rows, "weibull", [location, theta[1]]).value) - CHI_SQUARE_95

    found_error = found["location_se"]
    ends = [mp.findroot(fall, theta[0] + sign * 2 * found_error) for sign in (-1, 1)]
    return {
        "likelihood_ratio_lower_95": mp.exp(ends[0]), "likelihood_ratio_upper_95": mp.exp(ends[1]),
        "log_normal_lower_95": mp.exp(theta[0] - NORMAL_975 * found_error),
        "log_normal_upper_95": mp.exp(theta[0] + NORMAL_975 * found_error),
    }


def closed_quantities(example):
    given = example["inputs"]
    if example["kind"] == "quantile":
        steps = (-mp.log(mp.mpf(str(given["survival"])))) ** (mp.mpf(1) / given["shape"])
        return {"quantile": given["characteristic_life"] * steps}
    if "speed_ratio" in given:
        return {"life_ratio": mp.mpf(given["speed_ratio"]) ** (-1 / mp.mpf(given["taylor_exponent"]))}
    fast, slow = (mp.mpf(v) for v in given["speeds_m_per_min"])
    short, long = (mp.mpf(v) for v in given["lives_min"])
    exponent = mp.log(fast / slow) / mp.log(long / short)
    return {"taylor_exponent": exponent, "taylor_constant": fast * short**exponent}


def half_unit(printed):
    return mp.mpf(10) ** Decimal(printed).as_tuple().exponent / 2


def check_example(example):
    found = fitted_quantities(example) if example["kind"] == "life table fit" else closed_quantities(example)
    for figure in example["published"]:
        got, printed = found[figure["quantity"]], figure["printed"]
        rounds = abs(got - mp.mpf(printed)) <= half_unit(printed)
        assert rounds == figure["rounds_to"], f"{example['id']}: {figure}, got {mp.nstr(got, 12)}"
        assert rounds or figure["why"], example["id"]
    for quantity, wanted in example["recomputed"].items():
        # one unit of the listed last digit: some figures were cut off, not rounded
        close(found[quantity], wanted, 2 * half_unit(repr(wanted)), f"{example['id']} {quantity}")
    print(f"worked example {example['row']}, {example['id']}: as published, or as its note says")


def main():
    with mp.workdps(DIGITS):
        check_changing_exposure()
        check_life_tables()
        for example in read_json(REFERENCE / "worked_examples.json")["examples"]:
            check_example(example)


if __name__ == "__main__":
    main()
