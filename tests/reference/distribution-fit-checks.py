"""Writes distribution-fit-checks.json beside itself. Needs Python with mpmath, numpy and scipy."""
import json
import os
import numpy as np
from mpmath import *
from scipy import stats

mp.dps = 50
f = lambda x: float(nstr(x, 17))
cases = []


def add(id, kind, inputs, expected, tolerance, **more):
    cases.append(dict(id=id, inputs=dict(kind=kind, **inputs), expected=expected, tolerance=tolerance, absoluteTolerance=1e-320, **more))


def Phi(z): return erfc(-z / sqrt(mpf(2))) / 2
def Q(z): return erfc(z / sqrt(mpf(2))) / 2


def power(x, l): return log(x) if l == 0 else (x ** l - 1) / l
def yeo(x, l): return power(1 + x, l) if x >= 0 else -power(1 - x, 2 - l)


def z_of(name, p, x):
    if name == 'normal': return (x - p['mu']) / p['sigma']
    if name == 'lognormal': return (log(x) - p['mu']) / p['sigma']
    if name == 'johnsonSU': return p['gamma'] + p['delta'] * asinh((x - p['xi']) / p['lambda'])
    if name == 'johnsonSB': return p['gamma'] + p['delta'] * log((x - p['xi']) / (p['xi'] + p['lambda'] - x))
    if name == 'boxCox': return (power(x, p['lambda']) - p['mu']) / p['sigma']
    if name == 'yeoJohnson': return (yeo(x, p['lambda']) - p['mu']) / p['sigma']


def tails(name, p, x):
    p = {k: mpf(v) for k, v in p.items()}
    x = mpf(x)
    if name == 'weibull': h = (x / p['scale']) ** p['shape']; return -expm1(-h), exp(-h)
    if name == 'rayleigh': h = (x / p['sigma']) ** 2 / 2; return -expm1(-h), exp(-h)
    if name == 'exponential': h = x / p['scale']; return -expm1(-h), exp(-h)
    if name == 'gamma':
        return gammainc(p['shape'], 0, x / p['scale'], regularized=True), gammainc(p['shape'], x / p['scale'], inf, regularized=True)
    if name == 'foldedNormal':
        a, b = (x - p['mu']) / p['sigma'], (x + p['mu']) / p['sigma']
        return Phi(a) - Q(b), Q(a) + Q(b)
    z = z_of(name, p, x)
    return Phi(z), Q(z)


given = dict(
    normal=(dict(mu=127.0, sigma=0.18), [125.2, 126.5, 127.0, 127.4, 128.8, 133.0]),
    lognormal=(dict(mu=-2.5, sigma=0.3), [0.005, 0.03, 0.08, 0.15, 0.5, 3.0]),
    weibull=(dict(shape=2.2, scale=0.4), [1e-6, 0.02, 0.3, 1.0, 3.0]),
    gamma=(dict(shape=3.3, scale=0.02), [1e-8, 0.004, 0.06, 0.3, 2.0]),
    rayleigh=(dict(sigma=0.064), [1e-7, 0.01, 0.08, 0.4, 1.5]),
    exponential=(dict(scale=0.7), [1e-12, 0.02, 0.5, 9.0, 300.0]),
    foldedNormal=(dict(mu=0.3, sigma=0.1), [1e-9, 0.01, 0.09, 0.11, 0.3, 0.9, 3.0]),
    johnsonSU=(dict(gamma=-1.3, delta=2.3, xi=9.6, **{'lambda': 0.9}), [5.0, 9.0, 10.2, 12.5, 40.0]),
    johnsonSB=(dict(gamma=-0.4, delta=0.7, xi=2.0, **{'lambda': 3.0}), [2.0001, 2.3, 4.0, 4.9, 4.999]),
    boxCox=(dict(mu=-0.7, sigma=0.33, **{'lambda': 0.25}), [0.02, 0.1, 0.5, 1.5, 4.0]),
    yeoJohnson=(dict(mu=0.5, sigma=0.6, **{'lambda': 0.6}), [-3.0, -0.4, 0.0, 0.8, 6.0]),
)
others = [
    ('foldedNormal', dict(mu=0.0, sigma=0.2), [1e-5, 0.1, 0.21, 1.4]),
    ('foldedNormal', dict(mu=0.8, sigma=0.02), [0.01, 0.5, 0.9]),
    ('gamma', dict(shape=0.4, scale=2.0), [1e-9, 0.3, 40.0]),
    ('gamma', dict(shape=900.0, scale=0.01), [6.0, 9.0, 13.0]),
    ('weibull', dict(shape=0.6, scale=3.0), [1e-6, 1.0, 500.0]),
    ('boxCox', dict(mu=-0.5, sigma=0.1, **{'lambda': -1.0}), [0.4, 0.7, 1.2]),
    ('boxCox', dict(mu=-0.5, sigma=0.1, **{'lambda': 0.0}), [0.4, 0.7, 1.2]),
    ('yeoJohnson', dict(mu=0.5, sigma=0.6, **{'lambda': 2.0}), [-1.5, 0.2, 1.5]),
    ('yeoJohnson', dict(mu=0.5, sigma=0.6, **{'lambda': 0.0}), [-1.5, 0.2, 5.0]),
]
for name, p, xs in [(n, *v) for n, v in given.items()] + others:
    for x in xs:
        lower, upper = tails(name, p, x)
        if lower < mpf('1e-300') or upper < mpf('1e-300'): continue
        label = f"{name}-{'-'.join(str(v) for v in p.values())}-at-{x}"
        add('tail-' + label, 'tail', dict(distribution=name, parameters=p, x=x), dict(lower=f(lower), upper=f(upper)), 3e-12)

# Quantiles, by inverting the tails above.
for name, (p, xs) in given.items():
    for probability in [1e-9, 0.00135, 0.2, 0.99865]:
        start = [mpf(xs[1]), mpf(xs[2])] if probability < 0.5 else [mpf(xs[2]), mpf(xs[3])]
        lo, hi = mpf(xs[0]) / (10 if xs[0] > 0 else 1), mpf(xs[-1])
        if name in ('johnsonSU', 'yeoJohnson', 'normal'): lo = mpf(xs[0]) - 40 * abs(mpf(xs[-1]) - mpf(xs[0]))
        if name == 'johnsonSB': lo, hi = mpf(2) + mpf('1e-30'), mpf(5) - mpf('1e-30')
        if name in ('weibull', 'gamma', 'rayleigh', 'exponential', 'foldedNormal', 'boxCox', 'lognormal'): lo = mpf('1e-30')
        for _ in range(190):
            middle = (lo + hi) / 2
            lower, upper = tails(name, p, middle)
            # 1 - probability is exact here, as in double precision for a probability above 0.5.
            below = lower < mpf(probability) if probability < 0.5 else upper > 1 - mpf(probability)
            if below: lo = middle
            else: hi = middle
        add(f'quantile-{name}-{probability}', 'quantile', dict(distribution=name, parameters=p, probability=probability), dict(quantile=f(lo)), 1e-12)

# Fits: the largest likelihood in 30 digits, from the definition of each density.
mp.dps = 30
rng = np.random.default_rng(20250901)
r = lambda a, d=4: [float(f'{v:.{d}g}') for v in a]


def log_density(name, p, x):
    x = mpf(x)
    if name == 'weibull': k, s = p; return log(k / s) + (k - 1) * log(x / s) - (x / s) ** k
    if name == 'gamma': k, s = p; return (k - 1) * log(x) - x / s - loggamma(k) - k * log(s)
    if name == 'foldedNormal':
        m, s = p
        return log(exp(-((x - m) / s) ** 2 / 2) + exp(-((x + m) / s) ** 2 / 2)) - log(s) - log(2 * pi) / 2
    if name == 'johnsonSU':
        g, d, xi, l = p; y = (x - xi) / l
        return log(d) - log(l) - log(1 + y * y) / 2 - (g + d * asinh(y)) ** 2 / 2 - log(2 * pi) / 2
    if name == 'johnsonSB':
        g, d, xi, l = p
        return log(d * l / ((x - xi) * (xi + l - x))) - (g + d * log((x - xi) / (xi + l - x))) ** 2 / 2 - log(2 * pi) / 2
    if name == 'boxCox':
        l, m, s = p
        return (l - 1) * log(x) - ((power(x, l) - m) / s) ** 2 / 2 - log(s) - log(2 * pi) / 2
    if name == 'yeoJohnson':
        l, m, s = p
        return (l - 1) * sign(x) * log(1 + abs(x)) - ((yeo(x, l) - m) / s) ** 2 / 2 - log(s) - log(2 * pi) / 2


names = dict(weibull=['shape', 'scale'], gamma=['shape', 'scale'], foldedNormal=['mu', 'sigma'], boxCox=['lambda', 'mu', 'sigma'],
             yeoJohnson=['lambda', 'mu', 'sigma'], johnsonSU=['gamma', 'delta', 'xi', 'lambda'], johnsonSB=['gamma', 'delta', 'xi', 'lambda'])


def fit_case(label, name, values, start, tolerance=1e-10, by_field=None):
    n = len(start)
    total = lambda *p: sum(log_density(name, p, x) for x in values)
    gradient = lambda *p: [diff(total, p, tuple(1 if i == j else 0 for j in range(n))) for i in range(n)]
    solution = findroot(gradient, start, tol=1e-24, maxsteps=60)
    p = [solution[i] for i in range(n)]
    # It is a peak, not just a place without slope.
    for i in range(n):
        for step in (1e-4, -1e-4):
            q = list(p); q[i] += step * (abs(q[i]) + mpf('0.01'))
            assert total(*q) < total(*p), (label, i)
    more = {} if by_field is None else dict(toleranceByField=by_field)
    add(f'fit-{name}-{label}', 'fit', dict(distribution=name, values=values),
        dict(parameters=dict(zip(names[name], map(f, p))), logLikelihood=f(total(*p))), tolerance, **more)


skewed = r(rng.weibull(1.3, 12) * 0.4)
steep = [10.01, 10.02, 10.015, 10.03, 10.022, 10.018, 10.027]
wide = [0.0003, 0.02, 1.7, 45.0, 900.0, 0.4, 12.0]
for label, values in [('skewed', skewed), ('nearly-constant', steep), ('wide', wide), ('three', [0.11, 0.25, 0.19])]:
    k, _, s = stats.weibull_min.fit(values, floc=0); fit_case(label, 'weibull', values, (k, s))
    k, _, s = stats.gamma.fit(values, floc=0); fit_case(label, 'gamma', values, (k, s), 1e-9)
    if label in ('skewed', 'three', 'wide'):
        l = float(stats.boxcox_normmax(np.array(values), method='mle')); y = stats.boxcox(np.array(values), l)
        fit_case(label, 'boxCox', values, (l, y.mean(), y.std()))
for label, values, start in [
    ('both-sides', r(np.abs(rng.normal(0.3, 0.25, 25))), (0.3, 0.25)),
    ('hardly-folded', r(np.abs(rng.normal(5, 0.3, 15))), (5, 0.3)),
    ('zeros', [0.0, 0.0, 0.31, 0.2, 0.44, 0.38, 0.29, 0.35, 0.4, 0.3], (0.3, 0.15)),
    ('one-far-out', [9.8, 10.1, 10.3, 9.9, 10.0, 10.2, 9.7, 30.0], (12.5, 6.8)),
]:
    fit_case(label, 'foldedNormal', values, start, 1e-9)
for label, values in [('both-signs', r(rng.normal(0.5, 1.5, 20), 3)), ('skewed-both-signs', r(rng.gamma(2, 1, 20) - 1, 3)), ('all-negative', r(-rng.gamma(2, 1, 15), 3))]:
    l = float(stats.yeojohnson_normmax(np.array(values))); y = stats.yeojohnson(np.array(values), l)
    fit_case(label, 'yeoJohnson', values, (l, y.mean(), y.std()))
heavy = r(10 + 0.5 * rng.standard_t(3, 60), 5)
best = min((stats.johnsonsu.fit(heavy, *s) for s in [(0, 1.5), (0.5, 1), (-0.5, 1)]), key=lambda p: stats.johnsonsu.nnlf(p, heavy))
fit_case('heavy-tails', 'johnsonSU', heavy, best, 1e-7)
bounded = r(2 + 3 / (1 + np.exp((-0.3 - rng.normal(size=60)) / 0.8)), 5)
best = min((stats.johnsonsb.fit(bounded, a, b, loc=min(bounded) - 0.1, scale=max(bounded) - min(bounded) + 0.2) for a, b in [(0, 1), (-0.3, 0.8)]), key=lambda p: stats.johnsonsb.nnlf(p, bounded))
fit_case('two-bounds', 'johnsonSB', bounded, best, 1e-7)

# Powers that the values do not contradict: where the profile likelihood has fallen by half a chi-square quantile.
for label, method, values in [('skewed', 'box-cox', skewed), ('wide', 'box-cox', wide), ('both-signs', 'yeo-johnson', cases[-4]['inputs']['values'])]:
    values = [mpf(v) for v in values]
    transform, jacobian = (power, sum(log(v) for v in values)) if method == 'box-cox' else (yeo, sum(sign(v) * log(1 + abs(v)) for v in values))

    def profile(l):
        y = [transform(v, l) for v in values]; m = sum(y) / len(y)
        return -mpf(len(y)) / 2 * log(sum((a - m) ** 2 for a in y) / len(y)) + (l - 1) * jacobian

    lam = findroot(lambda l: diff(profile, l), 0.3)
    drop = profile(lam) - mpf(stats.chi2.ppf(0.9, 1)) / 2
    ends = []
    for direction in (-1, 1):
        far = mpf('0.01')
        while profile(lam + direction * far) > drop: far *= 1.3
        ends.append(findroot(lambda l: profile(l) - drop, (lam + direction * far / 1.3, lam + direction * far), solver='anderson'))
    add(f'power-interval-{label}', 'powerInterval', dict(method=method, values=[float(v) for v in values], confidence=0.9),
        {'lambda': f(lam), 'lower': f(ends[0]), 'upper': f(ends[1])}, 1e-9)

# Tests of normality by the independent library, at the ends of their ranges.
for n, values in [(3, [1.2, 1.5, 4.0]), (3, [1.0, 2.0, 3.0]), (4, [1.0, 2.0, 2.5, 9.0]), (5, [1.0, 1.1, 0.9, 1.05, 7.0]), (6, r(rng.normal(size=6))),
                  (11, r(rng.exponential(size=11))), (12, r(rng.exponential(size=12))), (4999, r(rng.normal(size=4999)))]:
    w = stats.shapiro(values)
    add(f'shapiro-{n}-{values[0]}', 'shapiro', dict(values=values), dict(W=w.statistic, pValue=w.pvalue), 2e-5 if n > 3 else 1e-7)
    cases[-1]['absoluteTolerance'] = 1e-9
for n in (20, 21, 400):
    values = r(rng.gamma(3, 1, n))
    k = stats.normaltest(values)
    add(f'moments-{n}', 'moments', dict(values=values), dict(skewness=float(stats.skew(values, bias=False)), kurtosisExcess=float(stats.kurtosis(values, bias=False)),
        skewnessZ=stats.skewtest(values).statistic, kurtosisZ=stats.kurtosistest(values).statistic, K2=k.statistic, pValue=k.pvalue), 1e-9)

# Plotting positions and the band of order statistics.
values = [9.9, 10.4, 9.2, 10.1, 10.0, 11.3, 9.7]
n = len(values)
i = np.arange(1, n + 1)
for name, position in [('hazen', (i - 0.5) / n), ('blom', (i - 0.375) / (n + 0.25)), ('median-rank', stats.beta.ppf(0.5, i, n - i + 1))]:
    q = lambda p: [float(v) for v in stats.norm.ppf(p, 10.1, 0.6)]
    add(f'plot-{name}', 'plot', dict(values=values, parameters=dict(mu=10.1, sigma=0.6), plottingPosition=name, confidence=0.9),
        dict(probability=[float(v) for v in position], theoreticalQuantile=q(position), lowerBound=q(stats.beta.ppf(0.05, i, n - i + 1)), upperBound=q(stats.beta.ppf(0.95, i, n - i + 1))), 1e-10)

out = '{"topic": "distribution-fit-checks",\n"method": "Tails and quantiles from their definitions in 50 digits; fits by finding the place without slope of the log-likelihood, from the definition of each density, in 30 digits, started where the independent library ends; Shapiro-Wilk, D\'Agostino-Pearson, normal and beta quantiles by that library.",\n"library": "mpmath 1.4.1, scipy 1.17.1, numpy 2.4.6",\n"notes": {"tolerance": "relative"},\n"cases": [\n' + ',\n'.join(json.dumps(c) for c in cases) + '\n]}\n'
open(os.path.join(os.path.dirname(os.path.abspath(__file__)), 'distribution-fit-checks.json'), 'w').write(out)
print(len(cases))
