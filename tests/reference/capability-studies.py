"""Writes capability-studies.json beside itself. Needs Python with numpy, scipy and mpmath."""
import json
import os
from fractions import Fraction
import numpy as np
from mpmath import mp, mpf, quad, ncdf, npdf, erfc, findroot, log, exp, cos, sin, pi, sqrt
from scipy import stats
from scipy.optimize import brentq, minimize

mp.dps = 25
cases = []


def add(id, kind, inputs, expected, tolerance, **more):
    cases.append(dict(id=id, inputs=dict(kind=kind, **inputs), expected=expected, tolerance=tolerance, **more))


def moments(values):
    """Mean and standard deviation of the doubles themselves, in exact fractions."""
    exact = [Fraction(float(v)) for v in values]
    n = len(exact)
    mean = sum(exact) / n
    variance = sum((v - mean) ** 2 for v in exact) / (n - 1)
    return mean, float(mean), float(sqrt(mpf(variance.numerator) / mpf(variance.denominator)))


def specification(lower, upper):
    return dict(lowerSpecificationLimit=lower, upperSpecificationLimit=upper)


points, point_weights = np.polynomial.legendre.leggauss(12)


def noncentral_t(t, v, d):
    """P(T <= t): the normal tail integrated over the chi distribution, 400 panels of 12 points."""
    ends = np.linspace(np.sqrt(stats.chi2.ppf(1e-19, v) / v), np.sqrt(stats.chi2.isf(1e-19, v) / v), 401)
    half = (ends[1:] - ends[:-1])[:, None] / 2
    s = half * points + (ends[1:] + ends[:-1])[:, None] / 2
    return float(np.sum(half * point_weights * stats.norm.cdf(t * s - d) * stats.chi2.pdf(v * s * s, v) * 2 * v * s))


def noncentrality(t, v, p):
    """d with P(T <= t) = p."""
    f = lambda d: noncentral_t(t, v, d) - p
    step = 1.0
    low = high = t
    while f(low) < 0: low -= step; step *= 2
    step = 1.0
    while f(high) > 0: high += step; step *= 2
    return brentq(f, low, high, xtol=1e-12, rtol=1e-14)


def normal_indices(mean, mean_float, s, n, v, lower, upper, confidence):
    """Indices with their bounds: chi-square, noncentral t, Bissell."""
    at = lambda q, limit: float((mean - Fraction(limit)) * q) / (3 * s)
    found = dict(tolerance=None, lower=None, upper=None)
    bound = {}
    levels = dict(lower=(1 - confidence) / 2, upper=(1 + confidence) / 2, lowerBound=1 - confidence, upperBound=confidence)
    def one_sided(c):
        factor = 3 * n ** 0.5
        return dict(estimate=c, **{k: noncentrality(factor * c, v, 1 - p) / factor for k, p in levels.items()})
    if lower is not None: found['lower'] = one_sided(at(1, lower))
    if upper is not None: found['upper'] = one_sided(at(-1, upper))
    sides = [f for f in (found['lower'], found['upper']) if f]
    smallest = min(sides, key=lambda f: f['estimate'])
    if lower is not None and upper is not None:
        c = float(Fraction(upper) - Fraction(lower)) / (6 * s)
        found['tolerance'] = dict(estimate=c, **{k: c * (stats.chi2.ppf(p, v) / v) ** 0.5 for k, p in levels.items()})
        c = smallest['estimate']
        spread = (1 / (9 * n) + c * c / (2 * v)) ** 0.5
        smallest = dict(estimate=c, **{k: c + stats.norm.ppf(p) * spread for k, p in levels.items()})
    found['smallest'] = smallest
    below = None if lower is None else float(stats.norm.cdf(-3 * found['lower']['estimate']))
    above = None if upper is None else float(stats.norm.cdf(-3 * found['upper']['estimate']))
    found['nonconforming'] = dict(below=below, above=above, total=(below or 0) + (above or 0))
    return found


def young(values):
    """Chance by von Neumann's ratio, in exact fractions but for the last step."""
    exact = [Fraction(float(v)) for v in values]
    n = len(exact)
    mean = sum(exact) / n
    ratio = sum((b - a) ** 2 for a, b in zip(exact, exact[1:])) / sum((v - mean) ** 2 for v in exact)
    return float(stats.norm.sf(float(1 - ratio / 2) / ((n - 2) / (n * n - 1)) ** 0.5))


def slope(values):
    exact = [Fraction(float(v)) for v in values]
    line = stats.linregress(np.arange(len(exact)), [float(v - exact[0]) for v in exact])
    return line.slope * (len(exact) - 1), line.pvalue


# Machine performance: one run.
for i, (n, centre, spread, lower, upper, confidence, decimals) in enumerate([
    (30, 10, 0.02, -5, 5, 0.95, 4), (31, 10, 0.02, -5, 5, 0.9, 4), (50, 10, 0.02, -4.2, 6.1, 0.95, 4), (50, 127, 0.03, None, 5, 0.95, 3),
    (50, 127, 0.03, -4, None, 0.99, 3), (64, 1e6, 0.5, -5, 5, 0.95, 2), (64, 1e6, 0.01, -6, 4.5, 0.95, 3), (80, -1e6, 0.2, None, 5.5, 0.9, 3),
    (100, 3e-6, 4e-8, -5, 5, 0.95, 10), (100, 3e-9, 4e-11, -4, 5, 0.95, 13), (100, 0, 1, -3, 4, 0.95, 3), (100, 0, 1, None, 3, 0.5, 3),
    (100, 8, 0.5, -12, 13, 0.95, 2), (120, 8, 0.5, -1, 1, 0.95, 2), (120, 8, 0.5, 1, 4, 0.95, 2), (120, 8, 0.5, -4, -1, 0.999, 2),
    (150, 1e4, 25, -5, 5, 0.95, 0), (33, 55, 0.4, -5, 5.2, 0.95, 2), (40, 0.35, 0.05, None, 6, 0.95, 3), (45, -20, 3, -5, None, 0.95, 1),
    (49, 1.5, 0.001, -5, 5, 0.95, 5), (99, 2e8, 3, -5, 5, 0.95, 0)]):
    rng = np.random.default_rng(700 + i)
    values = [float(v) for v in np.round(centre + spread * rng.standard_normal(n) + (0.6 * spread * np.arange(n) / n if i % 5 == 4 else 0), decimals)]
    low = None if lower is None else round(centre + lower * spread, decimals)
    high = None if upper is None else round(centre + upper * spread, decimals)
    mean, m, s = moments(values)
    found = normal_indices(mean, m, s, n, n - 1, low, high, confidence)
    drift, p = slope(values)
    add(f'machine-{i}', 'machine', dict(values=values, specification=specification(low, high), confidence=confidence),
        dict(mean=m, standardDeviation=s, pm=found['tolerance'], pml=found['lower'], pmu=found['upper'], pmk=found['smallest'],
             expectedNonconforming=found['nonconforming'],
             observedOutside=sum((low is not None and v < low) or (high is not None and v > high) for v in values),
             trend=dict(drift=drift, slopePValue=p, neighboursPValue=young(values))),
        1e-7, absoluteTolerance=0)

# Attribute capability.
for i, (x, n, confidence) in enumerate([
    (0, 1, 0.95), (0, 2, 0.5), (0, 10, 0.95), (0, 32, 0.9999), (0, 1000, 0.95), (0, 10 ** 9, 0.95), (1, 2, 0.95), (1, 10, 0.9), (1, 1000, 0.95),
    (1, 10 ** 6, 0.95), (2, 3, 0.95), (3, 200, 0.99), (5, 12, 0.8), (7, 50000, 0.95), (12, 125, 0.95), (40, 1e5, 0.95), (99, 200, 0.95),
    (150, 200, 0.95), (500, 1e9, 0.95), (999, 1000, 0.95), (1000, 20000, 0.6), (10 ** 6, 10 ** 9, 0.95)]):
    n = int(n)
    upper = lambda p: float(-np.expm1(np.log1p(-p) / n)) if x == 0 else float(stats.beta.ppf(p, x + 1, n - x))
    lower = lambda p: 0.0 if x == 0 else float(stats.beta.ppf(p, x, n - x + 1))
    half = (1 - confidence) / 2
    f = dict(estimate=x / n, lower=lower(half), upper=upper(1 - half), lowerBound=lower(1 - confidence), upperBound=upper(confidence))
    index = lambda q, sides: None if q == 0 else float(stats.norm.isf(q / sides) / 3)
    e = lambda sides: dict(estimate=index(f['estimate'], sides), lower=index(f['upper'], sides), upper=index(f['lower'], sides),
                           lowerBound=index(f['upperBound'], sides), upperBound=index(f['lowerBound'], sides))
    add(f'attributes-{i}', 'attributes', dict(nonconforming=x, inspected=n, confidence=confidence),
        dict(fractionNonconforming=f, oneLimit=e(1), twoLimits=e(2)), 1e-8)


# Position and pattern: the bivariate normal integrated in polar coordinates about the middle of the zone.
def outside(mx, my, a, c, b, r):
    det = a * c - b * b
    def ray(t):
        # Along a ray the exponent is quadratic in the distance: the integral of s exp(-(p s^2 - 2 q s + k)/2) from r on.
        u, v = cos(t), sin(t)
        p = (c * u * u - 2 * b * u * v + a * v * v) / det
        q = (c * u * mx - b * (u * my + v * mx) + a * v * my) / det
        k = (c * mx * mx - 2 * b * mx * my + a * my * my) / det
        z = sqrt(p) * (r - q / p)
        return exp(-(k - q * q / p) / 2) * (exp(-z * z / 2) / p + q / p * sqrt(2 * pi / p) * erfc(z / sqrt(mpf(2))) / 2)
    return quad(ray, [pi * k / 24 for k in range(-24, 25)]) / (2 * pi * sqrt(det))


def index(fraction):
    if fraction >= 1 - mpf(10) ** -20: return 0.0
    start = mpf(stats.norm.isf(float(fraction) / 2))
    return float(findroot(lambda z: log(erfc(z / sqrt(mpf(2)))) - log(fraction), start) / 3)


def position(xy, diameter):
    n = len(xy)
    rows = [[mpf(float(v)) for v in row] for row in xy]
    mx, my = (sum(row[k] for row in rows) / n for k in (0, 1))
    a = sum((row[0] - mx) ** 2 for row in rows) / (n - 1)
    c = sum((row[1] - my) ** 2 for row in rows) / (n - 1)
    b = sum((row[0] - mx) * (row[1] - my) for row in rows) / (n - 1)
    det = a * c - b * b
    r = mpf(diameter) / 2
    fraction = outside(mx, my, a, c, b, r)
    q = lambda t: (c * (r * cos(t) - mx) ** 2 - 2 * b * (r * cos(t) - mx) * (r * sin(t) - my) + a * (r * sin(t) - my) ** 2) / det
    if mx * mx + my * my >= r * r: ellipse = mpf(1)
    else:
        step = 2 * pi / 720
        starts = [k * step for k in range(720) if q(k * step) <= min(q((k - 1) * step), q((k + 1) * step))]
        ellipse = exp(-min(q(findroot(lambda t: mp.diff(q, t), t)) for t in starts) / 2)
    squares = sum(x * x + y * y for x, y in rows)
    rayleigh = lambda variance: exp(-r * r / (2 * variance))
    t2 = n * (c * mx * mx - 2 * b * mx * my + a * my * my) / det
    return dict(fraction=float(fraction), index=index(fraction), ellipseIndex=index(ellipse),
                offset=float(sqrt(mx * mx + my * my)),
                largerStandardDeviation=float(sqrt((a + c) / 2 + sqrt(((a - c) / 2) ** 2 + b * b))),
                smallerStandardDeviation=float(sqrt(det / ((a + c) / 2 + sqrt(((a - c) / 2) ** 2 + b * b)))),
                rayleighFraction=float(rayleigh(squares / (2 * n))), rayleighIndex=index(rayleigh(squares / (2 * n))),
                rayleighLowerBound=index(rayleigh(squares / mpf(stats.chi2.ppf(0.05, 2 * n)))),
                offsetPValue=float(stats.f.sf(float(t2 * (n - 2) / (2 * (n - 1))), 2, n - 2)),
                roundnessPValue=float(min(mpf(1), (4 * det / (a + c) ** 2) ** (mpf(n - 2) / 2))),
                outside=sum(x * x + y * y > r * r for x, y in rows))


def holes(rng, n, mx, my, sx, sy, rho, decimals):
    z = rng.standard_normal((n, 2))
    x = mx + sx * z[:, 0]
    y = my + sy * (rho * z[:, 0] + (1 - rho * rho) ** 0.5 * z[:, 1])
    return np.round(np.column_stack([x, y]), decimals)


for i, (n, mx, my, sx, sy, rho, diameter, decimals) in enumerate([
    (10, 0, 0, 0.05, 0.05, 0, 0.4, 3), (10, 0.05, 0.02, 0.03, 0.06, 0.5, 0.4, 3), (12, 0, 0.1, 0.02, 0.02, -0.8, 0.4, 4), (15, 0.15, 0, 0.05, 0.03, 0, 0.4, 3),
    (20, 0.25, 0, 0.05, 0.03, 0.3, 0.4, 3), (25, 0, 0, 0.2, 0.02, 0, 0.4, 3), (30, 0.01, -0.01, 0.04, 0.04, 0.95, 0.4, 4), (30, 0, 0, 0.01, 0.01, 0, 0.2, 4),
    (35, -0.05, 0.08, 0.03, 0.05, -0.6, 0.5, 3), (40, 3e-6, 1e-6, 2e-6, 3e-6, 0.2, 2e-5, 9), (40, 300, -200, 150, 180, -0.4, 1500, 1), (50, 0, 0, 0.09, 0.09, 0, 0.4, 3),
    (50, 0.02, 0.02, 0.3, 0.2, 0.1, 0.4, 2), (60, 2, 1, 0.05, 0.05, 0, 0.4, 3), (60, 0.03, 0, 0.06, 0.01, 0, 0.4, 4), (75, 0, 0.04, 0.015, 0.05, 0.2, 0.4, 4),
    (80, 0.06, 0.06, 0.02, 0.02, 0.7, 0.4, 4), (100, 0.06, -0.06, 0.02, 0.02, 0.7, 0.4, 4), (100, 0, 0, 0.03, 0.03, -0.3, 0.4, 4), (120, 0.1, 0.1, 0.04, 0.03, 0, 0.4, 4)]):
    xy = holes(np.random.default_rng(800 + i), n, mx, my, sx, sy, rho, decimals)
    add(f'positions-{i}', 'positions', dict(positions=[dict(x=float(x), y=float(y)) for x, y in xy], toleranceDiameter=diameter),
        position(xy, diameter), 1e-8, absoluteTolerance=1e-15)
for i, (n, count) in enumerate([(10, 1), (12, 2), (15, 3), (20, 4), (12, 5), (10, 8)]):
    rng = np.random.default_rng(900 + i)
    pattern = [holes(rng, n, *rng.normal(0, 0.06, 2), *rng.uniform(0.02, 0.08, 2), rng.uniform(-0.7, 0.7), 3) for _ in range(count)]
    each = [position(xy, 0.4) for xy in pattern]
    fractions = [one['fraction'] for one in each]
    add(f'pattern-{i}', 'pattern', dict(holes=[dict(name=chr(65 + k), positions=[dict(x=float(x), y=float(y)) for x, y in xy]) for k, xy in enumerate(pattern)], toleranceDiameter=0.4),
        dict(fractions=fractions, fractionOutside=dict(atLeast=max(fractions), atMost=min(1, sum(fractions))),
             observedPartsOutside=sum(any(x * x + y * y > 0.04 for x, y in (xy[k] for xy in pattern)) for k in range(n))), 1e-8, absoluteTolerance=1e-15)


# Streams, and the mixture of them.
def mixture(parts, lower, upper):
    """Quantiles by root finding in 25 digits."""
    cdf = lambda x: sum(w * ncdf((x - m) / s) for m, s, w in parts)
    sf = lambda x: sum(w * ncdf((m - x) / s) for m, s, w in parts)
    def root(f, p, z):
        ends = [m + z * s for m, s, _ in parts]
        a, b = min(ends), max(ends)
        if b - a < mpf(10) ** -20 * (abs(a) + abs(b)): return a
        for _ in range(110):
            middle = (a + b) / 2
            if (f(middle) - p > 0) == (f(a) - p > 0): a = middle
            else: b = middle
        return (a + b) / 2
    z = findroot(lambda t: ncdf(t) - mpf('0.00135'), mpf(-3))
    low, high = root(cdf, mpf('0.00135'), z), root(sf, mpf('0.00135'), -z)
    # In a gap between the parts the distribution rises by less than 1e-89.
    with mp.workdps(130): mid = root(cdf, mpf('0.5'), mpf(0))
    ppl = None if lower is None else float((mid - mpf(lower)) / (mid - low))
    ppu = None if upper is None else float((mpf(upper) - mid) / (high - mid))
    below = None if lower is None else float(cdf(mpf(lower)))
    above = None if upper is None else float(sf(mpf(upper)))
    return dict(pp=None if lower is None or upper is None else float((mpf(upper) - mpf(lower)) / (high - low)), ppl=ppl, ppu=ppu,
                ppk=min(v for v in (ppl, ppu) if v is not None), nonconforming=dict(below=below, above=above, total=(below or 0) + (above or 0)))


def within(groups):
    exact = [moments(g) for g in groups]
    n = sum(len(g) for g in groups)
    grand = sum(len(g) * e[0] for g, e in zip(groups, exact)) / n
    between = sum(len(g) * (e[0] - grand) ** 2 for g, e in zip(groups, exact)) / (len(groups) - 1)
    inside = sum(sum((Fraction(float(v)) - e[0]) ** 2 for v in g) for g, e in zip(groups, exact)) / (n - len(groups))
    return grand, between, inside, n


for i, (sizes, centres, spreads, lower, upper, shares, decimals) in enumerate([
    ((2, 2), (10, 10.1), (0.02, 0.02), 9.8, 10.3, None, 3), ((3, 5), (10, 10.05), (0.02, 0.04), 9.8, 10.2, None, 3), ((30, 30), (10, 10), (0.02, 0.02), 9.9, 10.1, None, 4),
    ((30, 40, 50), (10, 10.02, 9.99), (0.02, 0.03, 0.01), 9.9, 10.1, None, 4), ((30, 30), (10, 10.2), (0.01, 0.01), 9.9, 10.3, (3, 1), 4), ((25, 25), (10, 10.2), (0.01, 0.02), None, 10.3, None, 4),
    ((25, 25), (10, 10.2), (0.01, 0.02), 9.95, None, (1, 9), 4), ((10, 10, 10, 10), (1e6, 1e6 + 1, 1e6, 1e6 - 1), (0.5, 0.5, 0.6, 0.5), 999995, 1000005, None, 2),
    ((20, 20), (1e6, 1e6), (0.01, 0.02), 1e6 - 0.1, 1e6 + 0.1, None, 3), ((20, 20), (3e-8, 3.1e-8), (4e-10, 5e-10), 2.7e-8, 3.4e-8, None, 12), ((6, 7, 8, 9), (0, 0.1, 0.2, 0.3), (1, 1, 1, 1), -5, 5, (1, 2, 3, 4), 2),
    ((40, 40), (5, 9), (0.1, 0.1), 4, 10, None, 3), ((40, 40), (5, 9), (0.1, 1.5), 4, 10, None, 3), ((40, 40), (5, 9), (0.1, 0.1), 4, 10, (999, 1), 3), ((12,) * 8, tuple(np.linspace(1, 1.4, 8)), (0.1,) * 8, 0.5, 2, None, 3),
    ((5,) * 12, (0,) * 12, tuple(np.linspace(0.5, 2, 12)), -8, 8, None, 2), ((100, 3), (7, 7.5), (0.3, 0.1), 5, 9, None, 2), ((15, 15, 15), (-3, -3.2, -2.9), (0.2, 0.3, 0.2), -4.5, -1.8, None, 2),
    ((15, 15, 15), (-3, -3.2, -2.9), (0.2, 0.3, 0.2), None, -1.8, None, 2), ((50, 50), (2, 2.4), (0.2, 0.2), 2.6, 3, None, 2)]):
    rng = np.random.default_rng(1000 + i)
    groups = [[float(v) for v in np.round(c + s * rng.standard_normal(n), decimals)] for n, c, s in zip(sizes, centres, spreads)]
    exact = [moments(g) for g in groups]
    weights = shares or (1,) * len(groups)
    parts = [(mpf(e[0].numerator) / mpf(e[0].denominator), mpf(e[2]), mpf(w) / sum(weights)) for e, w in zip(exact, weights)]
    grand, between, inside, n = within(groups)
    each = [normal_indices(e[0], e[1], e[2], len(g), len(g) - 1, lower, upper, 0.95) for e, g in zip(exact, groups)]
    shifted = [[float(Fraction(v) - Fraction(groups[0][0])) for v in g] for g in groups]
    scale = max(e[2] for e in exact)
    add(f'streams-{i}', 'streams', dict(streams=[dict(name=f'die {k + 1}', values=g) for k, g in enumerate(groups)], specification=specification(lower, upper), shares=shares),
        dict(streams=[dict(ppk=one['smallest'], mean=e[1], standardDeviation=e[2]) for one, e in zip(each, exact)],
             worst=f"die {1 + min(range(len(each)), key=lambda k: each[k]['smallest']['estimate'])}",
             worstLowerBound=min(one['smallest']['lowerBound'] for one in each), mixture=mixture(parts, lower, upper),
             difference=dict(meansPValue=float(stats.f.sf(float(between / inside), len(groups) - 1, n - len(groups))),
                             spreadsPValue=float(stats.bartlett(*[[v / scale for v in g] for g in shifted]).pvalue))), 1e-7, absoluteTolerance=1e-14)

# Time-dependent models: the tests that have a formula, and the performance of the model that the data were drawn from.
for i, (model, m, size, offset, scale, decimals) in enumerate([
    ('A1', 10, 5, 0, 1, 3), ('A1', 25, 5, 1e6, 1, 2), ('A1', 25, 2, 50, 1e-4, 7), ('A1', 40, 3, 10, 0.02, 4), ('A1', 20, 8, -5, 0.1, 3), ('A1', 15, 4, 1, 1e-7, 10),
    ('C1', 25, 5, 0, 1, 3), ('C1', 25, 5, 1e6, 1, 2), ('C1', 40, 3, 10, 0.02, 5), ('C1', 30, 8, -5, 0.1, 4), ('C1', 20, 4, 1, 1e-7, 10),
    ('C2', 30, 5, 0, 1, 3), ('C2', 40, 5, 1e6, 1, 2), ('C2', 36, 4, 10, 0.02, 5), ('C2', 30, 6, 1, 1e-7, 10),
    ('C3', 25, 5, 0, 1, 3), ('C3', 25, 5, 1e6, 1, 2), ('C3', 40, 3, 10, 0.02, 5), ('C3', 30, 4, 1, 1e-7, 10), ('C3', 10, 5, 3, 0.5, 2)]):
    rng = np.random.default_rng(1100 + i + 50 * (i == 10))
    level = dict(A1=np.zeros(m), C1=2.5 * rng.standard_normal(m), C2=8 * rng.choice([0, 0, 1], m), C3=np.linspace(0, 6, m))[model]
    subgroups = [[float(v) for v in np.round(offset + scale * (l + rng.standard_normal(size)), decimals)] for l in level]
    grand, between, inside, n = within(subgroups)
    _, mean, s = moments([v for g in subgroups for v in g])
    lower, upper = (round(offset + scale * (np.mean(level) + q * 5 * (np.std(level) + 1)), decimals) for q in (-1, 1))
    if i % 4 == 3: lower = None
    means = [float(moments(g)[0]) for g in subgroups]
    anova = float(stats.f.sf(float(between / inside), m - 1, n - m))
    expected = dict(model=model, location=dict(A1='constant', C1='random', C2='random', C3='systematic')[model], analysisOfVariance=anova)
    if model != 'A1':
        exact = [moments(g)[0] for g in subgroups]
        centred = [float(v - exact[0]) for v in exact]
        expected['systematic'] = min(1, 2 * min(slope(centred)[1], young(centred)))
    if model == 'C3':
        exact = [moments(g)[0] for g in subgroups]
        steps = sum((q - p) ** 2 for p, q in zip(exact, exact[1:])) / (2 * (m - 1))
        expected['leftOver'] = float(stats.f.sf(float(steps / (inside / size)), 2 * (m - 1) ** 2 / (3 * m - 4), n - m))
    if model in ('A1', 'C1'):
        freedom, effective = n - 1, n
        if model == 'C1':
            total = float(between + (size - 1) * inside)
            freedom = total ** 2 / (float(between) ** 2 / (m - 1) + ((size - 1) * float(inside)) ** 2 / (n - m))
            effective = max(2, min(n, total / size / (float(between) / n)))
        found = normal_indices(grand, mean, s, effective, freedom, lower, upper, 0.95)
        expected['performance'] = dict(pp=found['tolerance'], ppl=found['lower'], ppu=found['upper'], ppk=found['smallest'], nonconforming=found['nonconforming'])
    else:
        shrink = mp.sqrt(max(mpf(0), 1 - mpf(float(inside / between))))
        sigma = mp.sqrt(mpf(inside.numerator) / mpf(inside.denominator))
        big = lambda f: mpf(f.numerator) / mpf(f.denominator)
        parts = [(big(grand) + (big(moments(g)[0]) - big(grand)) * shrink, sigma, mpf(len(g)) / n) for g in subgroups]
        found = mixture(parts, lower, upper)
        expected['performance'] = dict(**{k: None if found[k] is None else dict(estimate=found[k]) for k in ('pp', 'ppl', 'ppu', 'ppk')}, nonconforming=found['nonconforming'])
    add(f'model-{i}', 'model', dict(subgroups=subgroups, specification=specification(lower, upper)), expected, 1e-6, absoluteTolerance=1e-14)

# Indices of the parts: estimates by formula, bounds by a million draws of the generalised pivot with another generator.
for i, (n, gauge, freedom, centre, spread, lower, upper, confidence, decimals) in enumerate([
    (10, 0.3, 20, 10, 0.02, -6, 6, 0.95, 4), (10, 0.5, None, 10, 0.02, -6, 6, 0.95, 4), (15, 0.2, 10, 10, 0.02, -5, 7, 0.95, 4), (20, 0.4, 40, 1e6, 0.5, -6, 6, 0.95, 2),
    (25, 0.1, 40, 3e-8, 4e-10, -5, 6, 0.95, 12), (25, 0.3, 60, 127, 0.03, None, 5, 0.95, 4), (25, 0.3, 60, 127, 0.03, -5, None, 0.9, 4), (30, 0.6, 100, 8, 0.5, -6, 6, 0.95, 3),
    (30, 0.01, 5, 8, 0.5, -4, 5, 0.95, 3), (40, 0.3, 8, 0, 1, -5, 5, 0.95, 3), (50, 0.25, 40, 0, 1, -5, 5, 0.99, 3), (50, 0.25, 40, 0, 1, -1, 9, 0.95, 3),
    (50, 0.25, 40, 0, 1, 1, 9, 0.95, 3), (60, 0.5, 200, 55, 0.4, -7, 7, 0.95, 3), (80, 0.2, 30, -1e6, 2, -4, 4, 0.95, 1), (80, 0.35, None, 5, 0.1, -5, 5, 0.8, 4),
    (100, 0.5, 60, 5, 0.1, -5, 5, 0.95, 4), (100, 0.1, None, 5, 0.1, None, 4, 0.95, 4), (120, 0.2, 60, 5, 0.1, -9, 9, 0.95, 4), (35, 0.45, 25, 5, 0.1, -6, None, 0.95, 4)]):
    rng = np.random.default_rng(1200 + i)
    values = [float(v) for v in np.round(centre + spread * rng.standard_normal(n), decimals)]
    low = None if lower is None else round(centre + lower * spread, decimals)
    high = None if upper is None else round(centre + upper * spread, decimals)
    mean, m, s = moments(values)
    g = gauge * spread
    parts = (s * s - g * g) ** 0.5
    draws = 1_000_000
    total = (n - 1) / rng.chisquare(n - 1, draws)
    noise = (g / s) ** 2 * (1 if freedom is None else freedom / rng.chisquare(freedom, draws))
    sigma = np.sqrt(np.maximum(0, total - noise))
    middle = -rng.standard_normal(draws) * np.sqrt(total / n)
    away = lambda limit: float((Fraction(limit) - mean)) / s
    with np.errstate(divide='ignore'):
        side = dict(ppl=None if low is None else (middle - away(low)) / (3 * sigma), ppu=None if high is None else (away(high) - middle) / (3 * sigma))
        pp = None if low is None or high is None else (away(high) - away(low)) / (6 * sigma)
    ppk = np.minimum(*(v if v is not None else np.inf for v in (side['ppl'], side['ppu'])))
    estimates = dict(ppl=None if low is None else -away(low) * s / (3 * parts), ppu=None if high is None else away(high) * s / (3 * parts),
                     pp=None if pp is None else (away(high) - away(low)) * s / (6 * parts))
    estimates['ppk'] = min(v for v in (estimates['ppl'], estimates['ppu']) if v is not None)
    bounds = lambda d: dict(lower=float(np.quantile(d, (1 - confidence) / 2)), lowerBound=float(np.quantile(d, 1 - confidence)))
    add(f'parts-{i}', 'parts', dict(values=values, specification=specification(low, high), gaugeStandardDeviation=g, gaugeDegreesOfFreedom=freedom, confidence=confidence),
        dict(estimates=dict(estimates, partsStandardDeviation=parts, gaugeShare=(g / s) ** 2),
             bounds=dict(ppk=bounds(ppk), pp=None if pp is None else bounds(pp), spread=float(np.quantile(sigma, confidence) * s))),
        1e-8, toleranceByField=dict(bounds=0.03), absoluteTolerance=1e-16)

# Sample sizes that prove an index, by doubling and then counting down.
for i, (true, required, confidence, power, kind) in enumerate([
    (1.4, 1.33, 0.95, 0.9, 'one-sided'), (1.4, 1.33, 0.95, 0.9, 'tolerance'), (1.5, 1.33, 0.99, 0.9, 'one-sided'), (1.5, 1.33, 0.99, 0.9, 'tolerance'), (2, 1.67, 0.95, 0.8, 'one-sided'),
    (2, 1.67, 0.95, 0.8, 'tolerance'), (1, 0.5, 0.95, 0.9, 'one-sided'), (0.5, 0, 0.95, 0.9, 'one-sided'), (0.2, -0.3, 0.9, 0.9, 'one-sided'), (-0.5, -1, 0.95, 0.5, 'one-sided'),
    (10, 1, 0.95, 0.9, 'one-sided'), (10, 1, 0.95, 0.9, 'tolerance'), (20, 1, 0.9, 0.9, 'one-sided'), (3, 2.5, 0.5, 0.5, 'one-sided'), (3, 2.5, 0.5, 0.5, 'tolerance'),
    (1.67, 1.33, 0.95, 0.99, 'one-sided'), (1.67, 1.33, 0.8, 0.1, 'one-sided'), (1.67, 1.33, 0.8, 0.3, 'tolerance'), (1.8, 1.33, 0.9, 0.99, 'tolerance'), (1.35, 1.33, 0.95, 0.9, 'tolerance'),
    (2.5, 2, 0.95, 0.95, 'one-sided')]):
    def chance(n):
        v, d = n - 1, 3 * n ** 0.5
        if kind == 'tolerance': return stats.chi2.cdf((true / required) ** 2 * stats.chi2.ppf(1 - confidence, v), v)
        return stats.nct.sf(stats.nct.ppf(confidence, v, d * required), v, d * true)
    n = 2
    while chance(n) < power: n *= 2
    low = n // 2
    while n - low > 1:
        middle = (n + low) // 2
        if chance(middle) >= power: n = middle
        else: low = middle
    # The chance may dip at the smallest sizes: count them one by one.
    n = next((k for k in range(2, min(n, 60)) if chance(k) >= power), n)
    needed = required * ((n - 1) / stats.chi2.ppf(1 - confidence, n - 1)) ** 0.5 if kind == 'tolerance' else stats.nct.ppf(confidence, n - 1, 3 * n ** 0.5 * required) / (3 * n ** 0.5)
    add(f'sizes-{i}', 'sizes', dict(trueIndex=true, requiredIndex=required, confidence=confidence, power=power, index=kind),
        dict(sampleSize=n, power=float(chance(n)), estimateNeeded=float(needed)), 1e-6)


# Johnson fits: the likelihood climbed from many places by a general minimiser; the best inner peak counts.
def johnson(values, family):
    x = np.array([float(Fraction(v) - Fraction(values[0])) for v in values])
    centre, scale = x.mean(), x.std()
    y = (x - centre) / scale
    low, high = y.min(), y.max()
    def profile(p, q):
        if family == 'johnson-su':
            lam = np.exp(q)
            u = np.arcsinh((y - p) / lam)
            w = -0.5 * np.log1p(((y - p) / lam) ** 2) - q
        else:
            a, b = y - low + np.exp(p), high - y + np.exp(q)
            u = np.log(a / b)
            w = np.log(high - low + np.exp(p) + np.exp(q)) - np.log(a) - np.log(b)
        return u, w
    def loss(v):
        u, w = profile(*v)
        value = 0.5 * np.log(u.var()) - w.mean()
        return value if np.isfinite(value) else 1e9
    starts = [(p, q) for p in (-2, -1, 0, 1, 2) for q in (-1, 0, 1, 2)] if family == 'johnson-su' else [(p, q) for p in (-4, -2.5, -1, 0, 1.5) for q in (-4, -2.5, -1, 0, 1.5)]
    best = None
    for start in starts:
        found = minimize(loss, start, method='Nelder-Mead', options=dict(xatol=1e-11, fatol=1e-15, maxiter=20000, maxfev=20000))
        p, q = found.x
        inner = abs(p) < 900 and abs(q) < 6.5 if family == 'johnson-su' else -15 < p < 6.5 and -15 < q < 6.5
        if inner and (best is None or found.fun < best.fun): best = found
    if best is None: return None
    u, w = profile(*best.x)
    delta, gamma = 1 / u.std(), -u.mean() / u.std()
    p, q = best.x
    def quantile(z):
        t = (z - gamma) / delta
        y = p + np.exp(q) * np.sinh(t) if family == 'johnson-su' else low - np.exp(p) + (high - low + np.exp(p) + np.exp(q)) / (1 + np.exp(-t))
        return float(Fraction(values[0]) + Fraction(float(centre + scale * y)))
    z = stats.norm.ppf(0.00135)
    likelihood = float(len(x) * (w.mean() + np.log(delta) - 0.5 * np.log(2 * np.pi) - 0.5 - np.log(scale)))
    return dict(logLikelihood=likelihood, spread=scale, quantiles=dict(lowerPercentile=quantile(z), median=quantile(0), upperPercentile=quantile(-z)))


for i, (family, n, gamma, delta, xi, lam, decimals) in enumerate([
    ('johnson-su', 30, 0, 1, 0, 1, 4), ('johnson-su', 50, -1, 1.2, 10, 0.5, 4), ('johnson-su', 60, 1, 1.5, -3, 2, 4), ('johnson-su', 100, 0, 0.8, 1e6, 0.2, 4), ('johnson-su', 100, -2, 1.5, 1e6, 3, 3),
    ('johnson-su', 100, 0.5, 1, 3e-8, 1e-9, 14), ('johnson-su', 200, 0, 2, 5, 1, 4), ('johnson-su', 200, -0.5, 1.1, 0, 100, 1), ('johnson-su', 40, 0.3, 0.9, 7, 0.01, 5), ('johnson-su', 150, -1.5, 1.3, -1e6, 1, 3),
    ('johnson-su', 80, 0, 1.3, 0, 1e7, 0), ('johnson-su', 25, 0, 0.7, 2, 1, 3),
    ('johnson-sb', 60, 0, 0.7, 0, 1, 4), ('johnson-sb', 100, 0.5, 0.8, 10, 2, 4), ('johnson-sb', 100, -1, 1, 5, 0.4, 5), ('johnson-sb', 200, 0, 1, 1e6, 3, 3), ('johnson-sb', 200, 1, 0.9, 1e6, 0.5, 4),
    ('johnson-sb', 150, 0.3, 0.7, 3e-8, 1e-9, 14), ('johnson-sb', 200, 0, 0.6, -7, 5, 3), ('johnson-sb', 80, 0.2, 0.8, 0, 1e7, 0), ('johnson-sb', 120, -0.6, 0.75, 2, 1, 4), ('johnson-sb', 300, 1.2, 1, 0, 1, 4)]):
    rng = np.random.default_rng(1300 + i)
    z = (rng.standard_normal(n) - gamma) / delta
    values = [float(v) for v in np.round(xi + lam * (np.sinh(z) if family == 'johnson-su' else 1 / (1 + np.exp(-z))), decimals)]
    found = johnson(values, family)
    if found is None:
        add(f'johnson-{i}', 'johnson', dict(distribution=family, values=values), dict(available=False), 0)
        continue
    spread = found.pop('spread')
    # Absolute, in standard deviations of the values: a large offset is no accuracy.
    found['quantiles'] = {k: float((Fraction(v) - Fraction(values[0])) / Fraction(float(spread))) for k, v in found['quantiles'].items()}
    add(f'johnson-{i}', 'johnson', dict(distribution=family, values=values, spread=float(spread)), dict(available=True, **found), 2e-6, toleranceByField=dict(logLikelihood=1e-9))

text = ('{"topic": "capability-studies",\n"method": "Moments in exact fractions of the doubles. machine, streams, model: chi-square, noncentral t and Bissell by scipy; the trend by linregress and '
        'von Neumann\'s ratio. positions: the bivariate normal integrated along rays from the middle of the zone, 25 digits. mixture: quantiles by bisection in 25 digits, the median in 130. parts: a million draws. '
        'sizes: noncentral t and chi-square by bisection. johnson: profile likelihood by Nelder and Mead from 20 to 25 places.",\n'
        '"library": "mpmath, numpy, scipy",\n"notes": {"tolerance": "relative"},\n"cases": [\n')
text += ',\n'.join(json.dumps(c, default=float) for c in cases) + '\n]}\n'
open(os.path.join(os.path.dirname(os.path.abspath(__file__)), 'capability-studies.json'), 'w').write(text)
print(len(cases))
