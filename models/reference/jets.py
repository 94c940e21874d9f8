"""Numbers that carry their own first and second derivatives, to any number of digits.

Made and run with Python 3.11.7, mpmath 1.4.1 (gmpy2 2.3.2 for speed).

A `Jet` is a truncated Taylor series: value, gradient and Hessian with respect to the parameters.
The Hessian is kept as its lower triangle, row by row.
"""

from mpmath import mp


class Jet:
    """A value with its gradient and the lower triangle of its Hessian."""

    __slots__ = ("value", "gradient", "hessian")

    def __init__(self, value, gradient, hessian):
        self.value, self.gradient, self.hessian = value, gradient, hessian

    @staticmethod
    def constant(value, size):
        zero = mp.mpf(0)
        return Jet(mp.mpf(value), [zero] * size, [[zero] * (i + 1) for i in range(size)])

    @staticmethod
    def parameters(values):
        """The parameters themselves: each is its own derivative."""
        jets = [Jet.constant(value, len(values)) for value in values]
        for i, jet in enumerate(jets):
            jet.gradient[i] = mp.mpf(1)
        return jets

    def through(self, value, first, second):
        """f(self), given f, f' and f'' at its value."""
        g = self.gradient
        hessian = [
            [first * h + second * g[i] * g[j] for j, h in enumerate(row)]
            for i, row in enumerate(self.hessian)
        ]
        return Jet(value, [first * d for d in g], hessian)

    def _lift(self, other):
        return other if isinstance(other, Jet) else Jet.constant(other, len(self.gradient))

    def __add__(self, other):
        other = self._lift(other)
        return Jet(
            self.value + other.value,
            [a + b for a, b in zip(self.gradient, other.gradient)],
            [[a + b for a, b in zip(r, q)] for r, q in zip(self.hessian, other.hessian)],
        )

    def __neg__(self):
        return self.through(-self.value, mp.mpf(-1), mp.mpf(0))

    def __sub__(self, other):
        return self + (-self._lift(other))

    def __mul__(self, other):
        other = self._lift(other)
        a, b, g, k = self.value, other.value, self.gradient, other.gradient
        hessian = [
            [
                a * other.hessian[i][j] + b * h + g[i] * k[j] + g[j] * k[i]
                for j, h in enumerate(row)
            ]
            for i, row in enumerate(self.hessian)
        ]
        return Jet(a * b, [a * q + b * p for p, q in zip(g, k)], hessian)

    def full_hessian(self):
        size = len(self.gradient)
        return [[self.hessian[max(i, j)][min(i, j)] for j in range(size)] for i in range(size)]

    def __rsub__(self, other):
        return -self + other

    __radd__ = __add__
    __rmul__ = __mul__


def exp(x):
    e = mp.exp(x.value)
    return x.through(e, e, e)


def log(x):
    v = x.value
    return x.through(mp.log(v), 1 / v, -1 / v**2)


def log_one_minus(x):
    """ln(1 - x), all digits kept near zero."""
    left = 1 - x.value
    return x.through(mp.log1p(-x.value), -1 / left, -1 / left**2)


def log_one_minus_exp(x):
    """ln(1 - exp(x)) for negative x, all digits kept at both ends."""
    e, lost = mp.exp(x.value), mp.expm1(x.value)
    value = mp.log(-lost) if x.value > -1 else mp.log1p(-e)
    return x.through(value, e / lost, -e / lost**2)
