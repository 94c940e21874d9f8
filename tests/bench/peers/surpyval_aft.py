"""A Weibull accelerated-failure-time fit by surpyval's WeibullPH, which for the Weibull is the same law."""
import sys

try:
    import surpyval
except ImportError:
    sys.exit(77)
import common
import numpy

frame, read = common.table()


def fit():
    lower, upper = frame["lower"].to_numpy(), frame["upper"].to_numpy()
    censored = numpy.where(numpy.isinf(upper), 1, numpy.where(lower == upper, 0, 2))
    ages = numpy.column_stack([lower, numpy.where(censored == 1, lower, upper)])
    covariates = frame[list("abcde")].to_numpy()
    return surpyval.WeibullPH.fit(x=ages, Z=covariates, c=censored)


fits, fitted = common.timed(fit)
scale, shape, *slopes = fitted.params
# The hazard of proportional hazards is exp(Z slope) (t / scale)^shape: a slope on the log of time is minus it over the shape.
estimates = [numpy.log(scale)] + [-slope / shape for slope in slopes] + [-numpy.log(shape)]
common.say(read, fits, estimates, "surpyval")
