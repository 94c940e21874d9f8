"""What the peers in Python share: reading the table, timing, one line of JSON."""
import json
import sys
import time

import numpy
import pandas


def table():
    start = time.perf_counter()
    frame = pandas.read_csv(sys.argv[1])
    frame["upper"] = frame["upper"].fillna(numpy.inf)
    return frame, time.perf_counter() - start


def timed(fit):
    """Runs the fit as often as asked for; the seconds of each run, and the last answer."""
    fits = []
    for _ in range(int(sys.argv[2])):
        start = time.perf_counter()
        answer = fit()
        fits.append(time.perf_counter() - start)
    return fits, answer


def say(read, fits, estimates, version):
    print(json.dumps({"read": read, "fits": fits, "estimates": [float(x) for x in estimates], "version": version}))
