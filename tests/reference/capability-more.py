"""Writes capability-more.json beside itself. Needs Python with mpmath and scipy."""
import json
import os
from mpmath import mp, mpf, quad, sqrt, ncdf, npdf, erfc, findroot, log, exp, cos, sin, pi
from scipy import stats

mp.dps = 30
cases = []


def add(id, kind, inputs, expected, tolerance):
    cases.append(dict(id=id, inputs=dict(kind=kind, **inputs), expected=expected, tolerance=tolerance))


def outside(mx, my, a, c, b, r):
    """Given x, y is normal; integrated over x inside the circle, no rotation to principal axes."""
    mx, my, a, c, b, r = map(mpf, (mx, my, a, c, b, r))
    sx = sqrt(a)
    s = sqrt(c - b * b / a)

    def tails(x):
        m = my + b / a * (x - mx)
        h = sqrt(r * r - x * x)
        return npdf(x, mx, sx) * (ncdf((-h - m) / s) + ncdf((m - h) / s))

    points = sorted({-r, r} | {p for k in range(-14, 15) for p in [mx + k * sx, ] if abs(p) < r}
                    | {q * (r * r - (k * s) ** 2) ** mpf('0.5') for k in range(1, 12) for q in (-1, 1) if k * s < r})
    return quad(tails, points) + ncdf((-r - mx) / sx) + ncdf((mx - r) / sx)


def index(fraction):
    z0 = stats.norm.isf(float(fraction) / 2)
    z = findroot(lambda z: log(erfc(z / sqrt(mpf(2)))) - log(fraction), mpf(z0))
    return float(z / 3)


for i, (mx, my, a, c, b, r) in enumerate([
    (0, 0, 0.0025, 0.0025, 0, 0.2), (0.05, 0, 0.0036, 0.0025, 0, 0.2), (0.03, -0.04, 0.0016, 0.0036, 0.0012, 0.2),
    (0.1, 0.2, 0.01, 0.0001, 0.0005, 0.5), (0.02, 0.01, 0.0004, 0.0009, -0.0003, 0.2),
    (0.15, 0.1, 0.0009, 0.0009, 0.0002, 0.2), (0.3, 0, 0.0025, 0.0036, 0, 0.2), (0, 0.01, 0.09, 0.0004, 0.001, 0.25),
    (0.001, 0.002, 0.000036, 0.000025, 0, 0.05), (-0.04, 0.03, 0.0049, 0.0049, 0.0048, 0.2)]):
    fraction = outside(str(mx), str(my), str(a), str(c), str(b), str(r))
    add(f'circle-{i}', 'circle', dict(meanX=mx, meanY=my, varianceX=a, varianceY=c, covariance=b, radius=r),
        dict(fraction=float(fraction)), 1e-9)
for i, (d, s, r) in enumerate([(0, 1, 3), (1, 1, 3), (2.5, 1, 3), (0.5, 0.2, 1.5)]):
    # Equal deviations: the squared distance is noncentral chi-square.
    add(f'circle-round-{i}', 'circle', dict(meanX=d * 0.6, meanY=-d * 0.8, varianceX=s * s, varianceY=s * s, covariance=0, radius=r),
        dict(fraction=float(stats.ncx2.sf(r * r / s / s, 2, d * d / s / s) if d else exp(-mpf(r * r) / (2 * s * s)))), 1e-9)

for i, seed in enumerate([5, 6]):
    rng = __import__('numpy').random.default_rng(seed)
    xy = (rng.multivariate_normal([0.02, -0.03], [[0.0025, 0.0006], [0.0006, 0.0016]], 40)).round(4)
    m = [mpf(str(v)) for v in map(lambda col: sum(map(lambda t: int(round(t * 10000)), col)), xy.T)]
    n = len(xy)
    m = [v / 10000 / n for v in m]
    dev = [[mpf(int(round(v * 10000))) / 10000 - mm for v, mm in zip(row, m)] for row in xy]
    a = sum(d[0] ** 2 for d in dev) / (n - 1)
    c = sum(d[1] ** 2 for d in dev) / (n - 1)
    b = sum(d[0] * d[1] for d in dev) / (n - 1)
    r = mpf('0.2')
    f = outside(m[0], m[1], a, c, b, r)
    det = a * c - b * b
    q = lambda t: ((c * (r * cos(t) - m[0]) ** 2 - 2 * b * (r * cos(t) - m[0]) * (r * sin(t) - m[1]) + a * (r * sin(t) - m[1]) ** 2) / det)
    start = min((q(mpf(k) * pi / 180), k) for k in range(360))[1] * pi / 180
    t = findroot(lambda t: mp.diff(q, t), start)
    square = sum((d[0] + m[0]) ** 2 + (d[1] + m[1]) ** 2 for d in dev)
    ray = square / (2 * n)
    bound = square / mpf(stats.chi2.ppf(0.05, 2 * n))
    add(f'position-{i}', 'position', dict(positions=[dict(x=float(x), y=float(y)) for x, y in xy], toleranceDiameter=0.4),
        dict(fraction=float(f), index=index(f), ellipseIndex=index(exp(-q(t) / 2)), rayleighFraction=float(exp(-r * r / (2 * ray))),
             rayleighIndex=index(exp(-r * r / (2 * ray))), rayleighLowerBound=index(exp(-r * r / (2 * bound))),
             offsetPValue=float(stats.f.sf(float((n - 2) / mpf(2 * (n - 1)) * n * (c * m[0] ** 2 - 2 * b * m[0] * m[1] + a * m[1] ** 2) / det), 2, n - 2)),
             roundnessPValue=float((4 * det / (a + c) ** 2) ** (mpf(n - 2) / 2))), 1e-8)

for i, (x, n, conf) in enumerate([(0, 59, 0.95), (0, 3000, 0.99), (1, 100, 0.95), (2, 5000, 0.95), (17, 200, 0.9), (99, 100, 0.95)]):
    u = lambda q: 1 - (1 - q) ** (1 / n) if x == 0 else stats.beta.ppf(q, x + 1, n - x)
    l = lambda q: 0 if x == 0 else stats.beta.ppf(q, x, n - x + 1)
    add(f'attribute-{i}', 'attribute', dict(nonconforming=x, inspected=n, confidence=conf),
        dict(lower=float(l((1 - conf) / 2)), upper=float(u(1 - (1 - conf) / 2)), upperBound=float(u(conf)),
             indexLowerBound=float(stats.norm.isf(u(conf)) / 3), indexLowerBoundTwoLimits=float(stats.norm.isf(u(conf) / 2) / 3)), 1e-8)
for i, (p, conf, c) in enumerate([(0.001, 0.95, 0), (0.01, 0.9, 2), (3.3e-5, 0.95, 0), (0.05, 0.99, 5), (0.5, 0.95, 0)]):
    n = c + 1
    step = 1 << 22
    while step:
        if stats.binom.cdf(c, n + step - 1, p) > 1 - conf:
            n += step
        step >>= 1
    add(f'attribute-size-{i}', 'attributeSize', dict(largestFraction=p, confidence=conf, allowedNonconforming=c), dict(sampleSize=int(n)), 0)

for i, (true, required, conf, power, kind) in enumerate([
    (1.67, 1.33, 0.95, 0.9, 'one-sided'), (1.67, 1.33, 0.95, 0.9, 'tolerance'), (2, 1.33, 0.95, 0.8, 'one-sided'),
    (1.5, 1.33, 0.9, 0.5, 'one-sided'), (3, 1, 0.95, 0.95, 'tolerance'), (5, 1, 0.95, 0.95, 'one-sided')]):
    def chance(n):
        v = n - 1
        if kind == 'tolerance':
            return stats.chi2.cdf((true / required) ** 2 * stats.chi2.ppf(1 - conf, v), v)
        d = 3 * n ** 0.5
        return stats.nct.sf(stats.nct.ppf(conf, v, d * required), v, d * true)
    n = 2
    while chance(n) < power:
        n += 1
    add(f'size-{i}', 'indexSize', dict(trueIndex=true, requiredIndex=required, confidence=conf, power=power, index=kind),
        dict(sampleSize=n, power=float(chance(n))), 1e-6)

text = ('{"topic": "capability-more",\n"method": "circle: bivariate normal integrated over x, the tails of y given x in closed form, 30 digits; '
        'round cases by the noncentral chi-square distribution. position: moments, the same integral, the nearest point of the circle by root '
        'finding on the angle. attribute: Clopper-Pearson by the beta distribution. indexSize: noncentral t and chi-square, n counted up.",\n'
        '"library": "mpmath 1.4.1, scipy 1.17.1",\n"notes": {"tolerance": "relative"},\n"cases": [\n')
text += ',\n'.join(json.dumps(c) for c in cases) + '\n]}\n'
open(os.path.join(os.path.dirname(os.path.abspath(__file__)), 'capability-more.json'), 'w').write(text)
print(len(cases))
