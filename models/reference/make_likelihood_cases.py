"""Make tests/reference/likelihood.json: seeded cases with value, gradient and Hessian.

Made and run with Python 3.11.7, mpmath 1.4.1 (gmpy2 2.3.2 for speed).

    python models/reference/make_likelihood_cases.py

Regimes: "moderate" (shape 1 to 6, ages within a factor 30 of 50 hours), "extreme" (ages from 1e-6 to
1e6 hours, shape 0.2 to 50, intervals down to 1e-9 of their age) and "corner" (the ends of those
ranges and the special places: time zero, a boundary between segments, a segment of no hours, a
touch-up at the very hour of an entry, a look or an end).
A case whose value or derivatives lie beyond 1e300 is left out. Errors of eye and flat lie in 0.02 to 1,
but not below a sixtieth of sigma: the cost of the reference integral grows with that ratio.
"""

import json
import math
import random
import sys
import time
from multiprocessing import Pool
from pathlib import Path

from mpmath import mp

from likelihood import contribution

SEED = 20261125
TARGET = Path(__file__).resolve().parents[2] / "tests" / "reference" / "likelihood.json"
FAMILIES = ["weibull", "lognormal", "loglogistic"]
DIRECT_KINDS = ["exact", "right", "left", "interval"]
RANDOM_CASES = {"moderate": 18, "extreme": 16}
LARGEST = mp.mpf("1e300")
BELOW_EVERY_DOUBLE = mp.mpf("1e-329")  # printed as zero
DIGITS_PRINTED = 20
TYPICAL_HOURS = 50.0
LOG_LOG_TWO = math.log(math.log(2))


def log_uniform(draw, low, high):
    return math.exp(draw.uniform(math.log(low), math.log(high)))


def rounded(draw, low, high):
    return round(draw.uniform(low, high), 3)


# --- parts of a case ---------------------------------------------------------------------------


def shape_of(draw, regime):
    return log_uniform(draw, 1, 6) if regime == "moderate" else log_uniform(draw, 0.2, 50)


def age_of(draw, regime):
    if regime == "moderate":
        return TYPICAL_HOURS * math.exp(draw.triangular(-math.log(30), math.log(30), 0))
    if draw.random() < 0.3:
        return TYPICAL_HOURS * math.exp(draw.gauss(0, 0.5))
    return log_uniform(draw, 1e-6, 1e6)


def draw_parameters(draw, regime, case):
    n_gamma, n_beta = draw.randint(0, 2), draw.randint(0, 3)
    median = math.log(TYPICAL_HOURS) + draw.uniform(-0.7, 0.7)
    gamma = [rounded(draw, -0.6, 0.6) for _ in range(n_gamma)]
    beta = [rounded(draw, -0.6, 1.2) for _ in range(n_beta)]
    log_sigma = -math.log(shape_of(draw, regime))
    eye = error_of(draw, log_sigma)
    case["theta"] = [median, *gamma, *beta, touch_up_of(draw, regime), log_sigma, math.log(eye)]
    case["n_gamma"], case["n_beta"] = n_gamma, n_beta
    case["z"] = [draw.choice([0.0, 1.0, rounded(draw, -1, 1)]) for _ in range(n_gamma)]


def error_of(draw, log_sigma):
    return round(log_uniform(draw, max(0.02, math.exp(log_sigma) / 60), 1), 4)


def touch_up_of(draw, regime):
    """The logit of a share of 5 to 80 %; when extreme, of one anywhere."""
    return rounded(draw, -3, 1.4) if regime == "moderate" else rounded(draw, -14, 7)


def shares(draw, count):
    weights = [draw.uniform(0.1, 1) for _ in range(count)]
    return [weight / sum(weights) for weight in weights]


def segments(draw, n_beta, end):
    bounds = [0.0, *sorted(end * draw.uniform(0.05, 0.95) for _ in range(draw.randint(0, 2))), end]
    return [
        {"start": start, "stop": stop, "parts": parts(draw, n_beta)}
        for start, stop in zip(bounds, bounds[1:])
    ]


def parts(draw, n_beta):
    return [
        {"share": share, "x": [draw.choice([0.0, 1.0, rounded(draw, -1.5, 1.5)]) for _ in range(n_beta)]}
        for share in shares(draw, draw.randint(1, 3))
    ]


def interval_times(draw, regime, by):
    if regime == "moderate":
        return {"after": by * draw.uniform(0.3, 0.95), "by": by}
    if draw.random() < 0.2:
        return {"after": by * log_uniform(draw, 1e-9, 0.5), "by": by}
    return {"after": by * (1 - log_uniform(draw, 1e-9, 0.5)), "by": by}


def touch_ups(draw, case):
    """Mostly one to three, some of them at an hour where something else happens."""
    end = case["segments"][-1]["stop"]
    special = [case["entry"], *times_of(case), *(s["stop"] for s in case["segments"])]
    special = [at for at in special if at is not None]
    count = draw.choice([0, 1, 1, 2, 3])
    return sorted(
        draw.choice(special) if draw.random() < 0.15 else end * draw.uniform(0.02, 1) for _ in range(count)
    )


# --- looks -------------------------------------------------------------------------------------


def age_in_doubles(case, at):
    """Touch-ups left out: what is seen need only be near what such an edge would show."""
    age = 0.0
    beta = case["theta"][1 + case["n_gamma"] : -3]
    for segment in case["segments"]:
        hours = max(0.0, min(at, segment["stop"]) - segment["start"])
        for part in segment["parts"]:
            age += hours * part["share"] * math.exp(sum(b * x for b, x in zip(beta, part["x"])))
    return age


def draw_log_life(draw, case):
    """ln T from the case's own law, so that what is seen is what such an edge would show."""
    p = draw.uniform(0.001, 0.999)
    family = case["family"]
    normal = math.sqrt(2) * float(mp.erfinv(2 * p - 1))
    w = {"weibull": math.log(-math.log1p(-p)), "lognormal": normal, "loglogistic": math.log(p / (1 - p))}
    anchor = LOG_LOG_TWO if family == "weibull" and case["anchor"] == "median" else 0.0
    theta, gamma = case["theta"], case["theta"][1 : 1 + case["n_gamma"]]
    shift = sum(g * z for g, z in zip(gamma, case["z"]))
    return theta[0] + shift + math.exp(theta[-2]) * (w[family] - anchor)


def grade(fraction):
    for cut, name in ((0.5, "keen"), (0.85, "working"), (1.15, "dull")):
        if fraction < cut:
            return name
    return "overrun"


def eye_of(case):
    return math.exp(case["theta"][-1])


def look(draw, case, regime, at, log_life, last):
    """What is seen at this time: by a true eye when moderate, anything at all when extreme."""
    noise = draw.gauss(0, eye_of(case))
    log_fraction = math.log(age_in_doubles(case, at)) - log_life + noise
    if regime == "extreme":
        log_fraction = draw.uniform(math.log(0.1), math.log(4))
    chance = draw.random()
    if chance < 0.3:
        log_ratio = min(max(case["flat_exponent"] * log_fraction, math.log(0.01)), math.log(5))
        return {"at": at, "sight": "measured", "ratio": math.exp(log_ratio)}
    if last and chance < 0.5:
        return {"at": at, "sight": "not_called"}
    return {"at": at, "sight": grade(math.exp(log_fraction))}


def fill_looks(draw, case, regime, end):
    case["flat_error"] = error_of(draw, case["theta"][-2])
    case["flat_exponent"], case["called_at"] = rounded(draw, 0.3, 2.5), rounded(draw, 1.0, 1.6)
    count = draw.randint(1, 4)
    times = sorted(end * draw.uniform(0.1, 1) for _ in range(count - 1)) + [end]
    noticed = draw.random() < 0.35
    log_life = draw_log_life(draw, case)
    if noticed:
        log_life = math.log(age_in_doubles(case, end)) + draw.gauss(0, eye_of(case))
        times = times[:-1]
    case["looks"] = [look(draw, case, regime, at, log_life, at == times[-1]) for at in times]
    case["noticed"] = {"at": end, "late": draw.random() < 0.4} if noticed else None


# --- whole cases -------------------------------------------------------------------------------


def blank(family, kind, regime, anchor="median"):
    return {
        "id": "", "family": family, "kind": kind, "regime": regime, "anchor": anchor,
        "theta": [], "n_gamma": 0, "n_beta": 0, "z": [], "segments": [], "touch_ups": [],
        "flat_error": 0.1, "flat_exponent": 1.0, "called_at": 1.3,
        "times": {}, "looks": [], "noticed": None, "entry": None,
    }


def random_case(draw, family, kind, regime, number):
    case = blank(family, kind, regime, draw.choice(["median", "median", "location"]))
    draw_parameters(draw, regime, case)
    seen = age_of(draw, regime)
    beyond = draw.choice([1.0, 1.0, 1 + draw.random()]) if kind != "graded" else 1.0
    case["segments"] = segments(draw, case["n_beta"], seen * beyond)
    fill_observation(draw, case, regime, seen)
    if number % 3 == 2:
        case["entry"] = min(times_of(case)) * draw.uniform(0.02, 0.9)
    case["touch_ups"] = touch_ups(draw, case)
    return case


def fill_observation(draw, case, regime, seen):
    if case["kind"] == "graded":
        fill_looks(draw, case, regime, seen)
    elif case["kind"] == "interval":
        case["times"] = interval_times(draw, regime, seen)
    else:
        case["times"] = {"at": seen}


def times_of(case):
    """Every hour at which something was seen."""
    times = [*case["times"].values(), *(look["at"] for look in case["looks"])]
    return times + ([case["noticed"]["at"]] if case["noticed"] is not None else [])


def plain_corner(family, kind, shape, end, eye=0.2):
    case = blank(family, kind, "corner")
    case["theta"] = [math.log(TYPICAL_HOURS), -1.0, -math.log(shape), math.log(eye)]
    case["segments"] = [{"start": 0.0, "stop": end, "parts": [{"share": 1.0, "x": []}]}]
    return case


def range_corners(family, kind):
    for shape in (0.2, 50.0):
        for end in (1e-6, TYPICAL_HOURS, 1e6):
            case = plain_corner(family, kind, shape, end)
            case["times"] = {"at": end}
            if kind == "interval":
                case["times"] = {"after": end * (1 - 1e-9), "by": end}
            yield case


def zero_corners(family, kind):
    for shape in (0.2, 3.0, 50.0):
        if kind == "right":
            case = plain_corner(family, kind, shape, 1.0)
            case["times"] = {"at": 0.0}
            yield case
        if kind == "interval":
            for after in (0.0, 1e-6):
                case = plain_corner(family, kind, shape, 100.0)
                case["times"] = {"after": after, "by": 100.0}
                yield case


def boundary_corners(family, kind):
    """Seen exactly where one segment gives way to the next; and past a segment of no hours."""
    for no_hours in (False, True):
        case = plain_corner(family, kind, 3.0, 40.0)
        case["theta"].insert(1, 0.7)
        case["n_beta"] = 1
        stops = [0.0, 30.0, 30.0, 40.0] if no_hours else [0.0, 30.0, 40.0]
        rows = [0.0, 5.0, 1.0] if no_hours else [0.0, 1.0]
        case["segments"] = [
            {"start": start, "stop": stop, "parts": [{"share": 1.0, "x": [x]}]}
            for start, stop, x in zip(stops, stops[1:], rows)
        ]
        case["times"] = {"after": 20.0, "by": 30.0} if kind == "interval" else {"at": 30.0}
        yield case


def touch_up_corners(family, kind):
    """Touch-ups at the very hours of entry, start and end; before, after and between; many; twice at once."""
    stretch = {"after": 40.0, "by": 60.0} if kind == "interval" else {"at": 60.0}
    for at, entry in (
        ([60.0], None), ([70.0], None), ([40.0, 60.0], None), ([20.0], 20.0), ([10.0, 20.0, 50.0], 20.0),
        ([30.0, 30.0], None), ([10.0, 20.0, 30.0, 40.0, 50.0, 55.0], 5.0), ([1e-6, 59.999999], None),
    ):
        case = plain_corner(family, kind, 3.0, 80.0)
        case["times"], case["touch_ups"], case["entry"] = dict(stretch), at, entry
        yield case
    for touch_up in (-30.0, 30.0):
        for shape in (0.2, 50.0):
            case = plain_corner(family, kind, shape, 80.0)
            case["theta"][1], case["times"], case["touch_ups"] = touch_up, dict(stretch), [30.0, 50.0]
            yield case


def look_corners(family):
    for shape in (0.2, 50.0):
        for sight, end in (("keen", 1e-6), ("overrun", 1e6), ("keen", 1e3), ("overrun", 2.0)):
            case = plain_corner(family, "graded", shape, end)
            case["looks"] = [{"at": end, "sight": sight}]
            yield case
    for shape in (0.2, 3.0, 50.0):
        case = plain_corner(family, "graded", shape, 60.0)
        case["noticed"] = {"at": 60.0, "late": shape == 3.0}
        yield case
    yield from error_corners(family)
    yield from touched_up_looks(family)
    yield contradiction(family)


def error_corners(family):
    """The ends of what an eye and a flat may err."""
    for error in (0.02, 1.0):
        for look in ({"sight": "dull"}, {"sight": "measured", "ratio": 0.7}):
            case = plain_corner(family, "graded", 3.0, 45.0, eye=error)
            case["flat_error"], case["flat_exponent"] = error, 0.5
            case["looks"] = [{"at": 45.0, **look}]
            yield case


def touched_up_looks(family):
    """Looks before, at and after a touch-up; a touch-up at the entry and at the moment of noticing."""
    for at, entry, noticed in (([30.0], None, None), ([30.0], 20.0, 60.0), ([20.0, 60.0], 20.0, 60.0)):
        case = plain_corner(family, "graded", 3.0, 60.0)
        case["touch_ups"], case["entry"] = at, entry
        case["looks"] = [
            {"at": 25.0, "sight": "keen"}, {"at": 30.0, "sight": "dull"}, {"at": 31.0, "sight": "working"},
            {"at": 45.0, "sight": "measured", "ratio": 0.8},
        ]
        case["noticed"] = {"at": noticed, "late": True} if noticed else None
        yield case


def contradiction(family):
    """Overrun first and keen later: unlikely, never impossible."""
    case = plain_corner(family, "graded", 3.0, 60.0, eye=0.1)
    case["looks"] = [{"at": 20.0, "sight": "overrun"}, {"at": 60.0, "sight": "keen"}]
    return case


def corners(family, kind):
    if kind == "graded":
        return look_corners(family)
    return [
        *range_corners(family, kind), *zero_corners(family, kind), *boundary_corners(family, kind),
        *touch_up_corners(family, kind),
    ]


def cases_of(family, kind):
    draw = random.Random(f"{SEED} {family} {kind}")
    for regime, count in RANDOM_CASES.items():
        for number in range(count):
            yield random_case(draw, family, kind, regime, number)
    yield from corners(family, kind)


# --- answers and printing ----------------------------------------------------------------------


class Digits(str):
    """A number written out: mpmath numbers would lose digits on their way from a worker."""


def digits(number):
    return Digits("0.0" if abs(number) < BELOW_EVERY_DOUBLE else mp.nstr(number, DIGITS_PRINTED))


def answered(case):
    """The case with its answer written out, or None where doubles cannot hold it."""
    jet = contribution(case)
    hessian = jet.full_hessian()
    if max(abs(v) for v in [jet.value, *jet.gradient, *sum(hessian, [])]) > LARGEST:
        return None
    return {
        **case, "value": digits(jet.value), "gradient": [digits(g) for g in jet.gradient],
        "hessian": [[digits(h) for h in row] for row in hessian],
    }


def printed(thing):
    """JSON text; long numbers keep all their digits, which json.dumps cannot do."""
    if isinstance(thing, Digits):
        return str(thing)
    if isinstance(thing, dict):
        return "{" + ",".join(f"{json.dumps(k)}:{printed(v)}" for k, v in thing.items()) + "}"
    if isinstance(thing, list):
        return "[" + ",".join(printed(v) for v in thing) + "]"
    return json.dumps(thing)


def main():
    began, groups = time.time(), [(family, kind) for kind in [*DIRECT_KINDS, "graded"] for family in FAMILIES]
    found = {group: [] for group in groups}
    with Pool() as workers:
        for answer in workers.imap(answered, (case for group in groups for case in cases_of(*group))):
            if answer is not None:
                family, kind = answer["family"], answer["kind"]
                answer["id"] = f"{family}_{kind}_{len(found[family, kind]) + 1:02}"
                found[family, kind].append(answer)
    lines = [printed(case) for cases in found.values() for case in cases]
    made_with = ("models/reference/make_likelihood_cases.py with Python 3.11.7, mpmath 1.4.1; "
                 f"seed {SEED}; inputs are doubles, taken at their exact binary value")
    head = json.dumps(made_with)
    TARGET.parent.mkdir(parents=True, exist_ok=True)
    TARGET.write_text('{"made_with":' + head + ',\n"cases":[\n' + ",\n".join(lines) + "\n]}\n")
    print(len(lines), "cases in", f"{time.time() - began:.0f} s", file=sys.stderr)


if __name__ == "__main__":
    main()
