"""A careful Newton iteration in numpy: exact, right- and interval-censored rows apart, exact derivatives, and in each step
one evaluation of exponentials. What somebody would write by hand who knows numpy well."""
import sys

try:
    import numpy
except ImportError:
    sys.exit(77)
import common

frame, read = common.table()


def parts():
    lower, upper = frame["lower"].to_numpy(), frame["upper"].to_numpy()
    x = numpy.column_stack([numpy.ones(len(lower)), frame[list("abcde")].to_numpy()])
    right, exact = numpy.isinf(upper), lower == upper
    between = ~(right | exact)
    return [
        (x[exact], numpy.log(lower[exact]), None),
        (x[right], numpy.log(lower[right]), None),
        (x[between], numpy.log(lower[between]), numpy.log(upper[between] / lower[between])),
    ]


def evaluate(theta, sections):
    slopes, log_sigma = theta[:-1], theta[-1]
    sigma = numpy.exp(log_sigma)
    count = len(theta)
    value, gradient, hessian = 0.0, numpy.zeros(count), numpy.zeros((count, count))
    for kind, (x, log_age, gap) in enumerate(sections):
        z = (log_age - x @ slopes) / sigma
        hazard = numpy.exp(z)
        if kind == 0:
            value += numpy.sum(z - hazard - log_age) - len(z) * log_sigma
            first, bend = 1 - hazard, -hazard
            spread, mixed = first * z, bend * z
            twice = bend * z * z
            gradient[-1] -= len(z)
        elif kind == 1:
            value -= numpy.sum(hazard)
            first = bend = -hazard
            spread = mixed = first * z
            twice = mixed * z
        else:
            g = gap / sigma
            grown = numpy.expm1(g)
            d = hazard * grown
            less = -numpy.expm1(-d)
            value += numpy.sum(numpy.log(less) - hazard)
            q = d * (1 - less) / less
            ended = q * (1 - d - q)
            u = g * (1 + grown) / grown
            first, bend = q - hazard, ended - hazard
            spread, mixed = first * z + q * u, bend * z + ended * u
            twice = bend * z * z + 2 * ended * u * z + ended * u * u + q * u * (g - u)
        gradient[:-1] -= x.T @ first / sigma
        gradient[-1] -= spread.sum()
        hessian[:-1, :-1] += (x.T * bend) @ x / sigma**2
        cross = x.T @ (first + mixed) / sigma
        hessian[:-1, -1] += cross
        hessian[-1, :-1] += cross
        hessian[-1, -1] += spread.sum() + twice.sum()
    return value, gradient, hessian


def fit():
    sections = parts()
    # Least squares on the lives that ended; 0.5772 sigma and pi sigma / sqrt 6 are mean and spread of an extreme value.
    ended = [sections[0], sections[2]]
    x = numpy.vstack([section[0] for section in ended])
    logs = numpy.concatenate([log if gap is None else log + gap / 2 for _, log, gap in ended])
    slopes = numpy.linalg.solve(x.T @ x, x.T @ logs)
    sigma = numpy.std(logs - x @ slopes) * 6**0.5 / numpy.pi
    slopes[0] += 0.5772 * sigma
    theta = numpy.append(slopes, numpy.log(sigma))
    at = evaluate(theta, sections)
    for _ in range(100):
        curvature, shift = -at[2], 0.0
        while True:
            shifted = curvature + shift * numpy.diag(numpy.abs(numpy.diag(curvature)))
            try:
                numpy.linalg.cholesky(shifted)
                break
            except numpy.linalg.LinAlgError:
                shift = max(4 * shift, 1e-3)
        step = numpy.linalg.solve(shifted, at[1])
        decrement = at[1] @ step
        if decrement < 1e-12 and shift == 0:
            return theta + step
        share = 1.0
        while True:
            there = evaluate(theta + share * step, sections)
            if there[0] > at[0]:
                break
            share /= 2
        theta, at = theta + share * step, there
    raise SystemExit("did not settle")


with numpy.errstate(all="ignore"):  # a step too far is taken back
    fits, estimates = common.timed(fit)
common.say(read, fits, estimates, f"numpy {numpy.__version__}")
