"""Writes autocorrelation.json: serial correlations, first-order autoregression, residuals and false alarms.

Everything with numpy and scipy only, by other ways than the core: correlations by numpy.correlate, the fit by
numpy.linalg.lstsq, the average run length by the trapezoidal rule on 4001 points.
Run: python3 tests/reference/autocorrelation.py > tests/reference/autocorrelation.json
"""

import json

import numpy
import scipy
from scipy.stats import norm


def series(seed, n, phi, mean, scale, decimals):
    random = numpy.random.default_rng(seed)
    x = [random.standard_normal() / numpy.sqrt(1 - phi * phi)]
    for _ in range(n - 1):
        x.append(phi * x[-1] + random.standard_normal())
    return [round(float(mean + scale * v), decimals) for v in x]


def correlations(values, lags):
    d = numpy.array(values) - numpy.mean(values)
    full = numpy.correlate(d, d, mode="full")
    middle = len(d) - 1
    return [float(full[middle + k] / full[middle]) for k in range(1, lags + 1)]


def moments(n, k):
    """Dufour and Roy (1985), independent normal values."""
    variance = (n**4 - (k + 3) * n**3 + 3 * k * n**2 + 2 * k * (k + 1) * n - 4 * k**2) / (
        (n + 1) * n**2 * (n - 1) ** 2
    )
    return -(n - k) / (n * (n - 1)), variance**0.5


def lag_case(identity, values, lags):
    n = len(values)
    r = correlations(values, lags)
    expected = [moments(n, k)[0] for k in range(1, lags + 1)]
    errors = [moments(n, k)[1] for k in range(1, lags + 1)]
    p = [float(2 * norm.sf(abs(a - b) / c)) for a, b, c in zip(r, expected, errors)]
    return {
        "id": identity,
        "inputs": {"kind": "lags", "values": values, "lags": lags},
        "expected": {"correlations": r, "expected": expected, "standardErrors": errors, "pValues": p},
        "tolerance": 1e-10,
    }


def fit_case(identity, given):
    # Everything as distances from the first value: far from zero lstsq would lose the digits.
    origin = given[0]
    values = [None if v is None else v - origin for v in given]
    pairs = [(a, b) for a, b in zip(values, values[1:]) if a is not None and b is not None]
    x = numpy.array([a for a, _ in pairs])
    y = numpy.array([b for _, b in pairs])
    design = numpy.column_stack([numpy.ones_like(x), x])
    (c, phi), *_ = numpy.linalg.lstsq(design, y, rcond=None)
    residual = y - design @ numpy.array([c, phi])
    s = numpy.sqrt(residual @ residual / (len(x) - 2))
    mean = c / (1 - phi)
    points = []
    last = None
    gap = None
    for value in values:
        if value is None:
            points.append(None)
            gap = None if gap is None else gap + 1
            continue
        foretold = mean + (0 if gap is None else phi**gap * (last - mean))
        # Variance of the error of the forecast over that of one step: 1 + phi^2 + phi^4 + ... over the gap.
        steps = 10000 if gap is None else gap
        points.append(float((value - foretold) / numpy.sqrt(sum(phi ** (2 * i) for i in range(steps)))))
        last, gap = value, 1
    return {
        "id": identity,
        "inputs": {"kind": "fit", "values": given},
        "expected": {
            "mean": float(origin + mean),
            "coefficient": float(phi),
            "residualStandardDeviation": float(s),
            "coefficientStandardError": float(s / numpy.sqrt(((x - x.mean()) ** 2).sum())),
            "residuals": points,
            "signals": [i for i, e in enumerate(points) if e is not None and abs(e) > 3 * s],
        },
        "tolerance": 1e-9,
        # The mean, and every value, is known to half a unit in its last place only.
        "absoluteTolerance": max(1e-12, 2.5e-16 * abs(origin)),
    }


def false_alarm_case(phi, multiple):
    h = multiple * (1 - phi) ** 0.5
    grid = numpy.linspace(-h, h, 4001)
    weights = numpy.full(4001, grid[1] - grid[0])
    weights[[0, -1]] /= 2
    s = (1 - phi * phi) ** 0.5
    kernel = norm.pdf(grid[None, :], phi * grid[:, None], s) * weights
    lengths = numpy.linalg.solve(numpy.eye(4001) - kernel, numpy.ones(4001))
    return {
        "id": f"false-alarms-{phi}-{multiple}",
        "inputs": {"kind": "falseAlarms", "coefficient": phi, "multiple": multiple},
        "expected": {
            "standardDeviationRatio": (1 - phi) ** 0.5,
            "falseAlarmRate": float(2 * norm.sf(h)),
            "independentFalseAlarmRate": float(2 * norm.sf(multiple)),
            "averageRunLength": float(1 + (weights * norm.pdf(grid)) @ lengths),
        },
        "tolerance": 1e-10,
        # The trapezoidal rule at 4001 points.
        "toleranceByField": {"averageRunLength": 2e-5},
    }


gap = series(8, 40, 0.6, 12.5, 0.02, 4)
gap[7] = gap[20] = gap[21] = None
cases = [
    lag_case("lags-independent", series(1, 30, 0.0, 10, 0.1, 3), 5),
    lag_case("lags-drift", series(2, 60, 0.7, 10, 0.1, 3), 8),
    lag_case("lags-over-adjusted", series(3, 25, -0.6, 300, 2.5, 2), 3),
    lag_case("lags-four-values", [1, 3, 2, 5], 2),
    fit_case("fit-drift", series(4, 50, 0.7, 12.5, 0.02, 4)),
    fit_case("fit-over-adjusted", series(5, 40, -0.5, 0, 1, 3)),
    fit_case("fit-far-from-zero", series(6, 30, 0.4, 1e6, 0.5, 2)),
    fit_case("fit-with-gaps", gap),
] + [false_alarm_case(phi, m) for phi, m in [(0.0, 3), (0.3, 3), (0.5, 3), (0.8, 3), (-0.3, 3), (-0.6, 2), (0.9, 3.5)]]

print(
    json.dumps(
        {
            "topic": "autocorrelation",
            "method": "Correlation at lag k over the sum of squares; Dufour and Roy (1985) moments; conditional least "
            "squares of a first-order autoregression; residuals scaled to one variance; limits from average moving "
            "range, average run length from a stationary start",
            "library": f"numpy {numpy.__version__}, scipy {scipy.__version__}",
            "cases": cases,
        },
        indent=1,
    )
)
