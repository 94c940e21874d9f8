"""A Weibull accelerated-failure-time fit by lifelines' WeibullAFTFitter."""
import sys

try:
    import lifelines
except ImportError:
    sys.exit(77)
import common
import numpy

frame, read = common.table()


def fit():
    data = frame.copy()
    data["event"] = data["lower"] == data["upper"]
    return lifelines.WeibullAFTFitter().fit_interval_censoring(
        data, lower_bound_col="lower", upper_bound_col="upper", event_col="event"
    )


fits, fitted = common.timed(fit)
scale = fitted.params_["lambda_"]
estimates = [scale["Intercept"]] + [scale[name] for name in "abcde"] + [-fitted.params_["rho_"]["Intercept"]]
common.say(read, fits, estimates, f"lifelines {lifelines.__version__}")
