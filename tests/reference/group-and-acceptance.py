"""Writes group-charts.json and acceptance-charts.json beside itself. Needs Python with numpy and scipy."""
import itertools
import json
import math
import os
import numpy as np
from scipy.optimize import brentq
from scipy.stats import norm

# Group charts: limits of the extremes of k lanes. Sums over a grid of 1/500 are exact to rounding for bell shapes.
GRID = np.arange(-14, 14, 0.002)


def longer(w, n):
    """P(range of n standard normal values > w)."""
    x = GRID - w / 2
    return 1 - n * float(np.sum(norm.pdf(x) * (norm.sf(x) - norm.sf(x + w)) ** (n - 1))) * 0.002


def range_moments(n):
    """d2 from the order statistics, d3 from E W^2 = 2 integral of w P(W > w) by Gauss-Legendre."""
    d2 = float(np.sum(1 - norm.cdf(GRID) ** n - norm.sf(GRID) ** n)) * 0.002
    nodes, weights = np.polynomial.legendre.leggauss(80)
    second = sum(v * 8 * 2 * w * longer(w, n) for w, v in zip(8 * (nodes + 1), weights))
    return d2, math.sqrt(second - d2**2)


def limits(lanes, size, mean, sd, multiple=None, alpha=None):
    if alpha is None:
        distance, share = multiple, None
    else:
        share = -math.expm1(math.log1p(-alpha) / lanes)
        distance = norm.isf(share / 2)
    out = dict(
        lowerControlLimit=float(mean - distance * sd / math.sqrt(size)),
        upperControlLimit=float(mean + distance * sd / math.sqrt(size)),
        meanFalseAlarmProbability=float(1 - (1 - 2 * norm.sf(distance)) ** lanes),
    )
    if size > 1:
        d2, d3 = range_moments(size)
        width = d2 + multiple * d3 if share is None else brentq(lambda w: longer(w, size) - share, 0.1, 14, xtol=1e-13)
        out.update(
            rangeCenterLine=d2 * sd,
            upperRangeLimit=width * sd,
            rangeFalseAlarmProbability=1 - (1 - longer(width, size)) ** lanes,
        )
    return out


cases = []
for i, (k, n, m, s, multiple, alpha) in enumerate(
    [
        (2, 2, 10, 0.1, 3, None),
        (6, 4, 20, 0.1, 3, None),
        (24, 5, -3.2, 1.7, 3, None),
        (8, 3, 100, 2.5, 2.5, None),
        (4, 1, 7, 0.02, 3, None),
        (2, 2, 10, 0.1, None, 0.0027),
        (6, 4, 20, 0.1, None, 0.0027),
        (24, 5, -3.2, 1.7, None, 0.01),
        (3, 10, 0, 1, None, 1e-5),
        (100, 3, 50, 0.4, None, 0.05),
        (5, 1, 7, 0.02, None, 0.001),
    ]
):
    inputs = dict(kind='limits', lanes=k, size=n, mean=m, standardDeviation=s)
    if multiple is not None:
        inputs['multiple'] = multiple
    else:
        inputs['falseAlarmProbability'] = alpha
    cases.append(dict(id=f'limits-{i}', inputs=inputs, expected=limits(k, n, m, s, multiple, alpha), tolerance=1e-8))

# Runs of the same lane at the same edge: every order of the lanes is enumerated, nothing is derived by hand.


def run_lengths(k, r):
    orders = list(itertools.permutations(range(k)))
    pairs = {}
    for order in orders:
        pairs[(order[0], order[-1])] = pairs.get((order[0], order[-1]), 0) + 1 / len(orders)
    states = [(a, b) for a in range(1, r) for b in range(1, r)]
    place = {state: i for i, state in enumerate(states)}
    matrix = np.eye(len(states))
    now = (0, 1)  # by symmetry any two lanes stand for all
    for (a, b), i in place.items():
        for (top, bottom), probability in pairs.items():
            state = (a + 1 if top == now[0] else 1, b + 1 if bottom == now[1] else 1)
            if state in place:
                matrix[i, place[state]] -= probability
    either = 1 + np.linalg.solve(matrix, np.ones(len(states)))[place[(1, 1)]]
    matrix = np.eye(r - 1)
    for a in range(1, r):
        matrix[a - 1, 0] -= (k - 1) / k
        if a + 1 < r:
            matrix[a - 1, a] -= 1 / k
    one = 1 + np.linalg.solve(matrix, np.ones(r - 1))[0]
    return one, either


for k, r in [(2, 2), (2, 5), (3, 2), (3, 4), (3, 7), (4, 6), (5, 5), (6, 5), (7, 4), (8, 3)]:
    one, either = run_lengths(k, r)
    cases.append(
        dict(
            id=f'runs-{k}-{r}',
            inputs=dict(kind='runs', lanes=k, runLength=r),
            expected=dict(averageRunLength=float(one), eitherSideAverageRunLength=float(either), probability=k ** (1.0 - r)),
            tolerance=1e-9,
        )
    )


def write(topic, method, notes, cases):
    head = dict(topic=topic, method=method, library='numpy, scipy 1.17.1', notes=notes)
    text = json.dumps(head, indent=1)[:-2] + ',\n "cases": [\n' + ',\n'.join(json.dumps(c) for c in cases) + '\n]}\n'
    open(os.path.join(os.path.dirname(os.path.abspath(__file__)), topic + '.json'), 'w').write(text)
    print(topic, len(cases))


write(
    'group-charts',
    'ISO 7870-5 group control charts: limits of one lane (multiple), or such that k independent normal lanes together give one false signal with the wanted probability; Nelson, Journal of Quality Technology 18(4), 1986: average samples to a run of the same lane at the same edge',
    dict(limits='means on both sides together, ranges by themselves', runs='Markov chain over the enumerated orders of the lanes'),
    cases,
)

# Acceptance control charts.


def risks(n, sd, sides, lines):
    se = sd / math.sqrt(n)
    lower, upper = lines
    low = -math.inf if lower is None else lower
    high = math.inf if upper is None else upper
    alpha = max(norm.sf(high, a, se) + norm.cdf(low, a, se) for a, _ in sides)
    beta = max(abs(norm.cdf(high, b, se) - norm.cdf(low, b, se)) if b < low else norm.sf(low, b, se) - norm.sf(high, b, se) for _, b in sides)
    return alpha, beta


def plan(lsl, usl, sd, p0, p1, alpha, beta, limits_from='acceptable-level', levels=None, n=None):
    upper = lower = None
    if usl is not None:
        upper = (usl + norm.ppf(p0) * sd, usl + norm.ppf(p1) * sd) if levels is None else levels['upper']
    if lsl is not None:
        lower = (lsl - norm.ppf(p0) * sd, lsl - norm.ppf(p1) * sd) if levels is None else levels['lower']
    sides = [s for s in (lower, upper) if s is not None]

    def lines(n):
        se = sd / math.sqrt(n)
        if limits_from == 'rejectable-level':
            z = norm.isf(beta) * se
            return (None if lower is None else lower[1] + z, None if upper is None else upper[1] - z)
        z = norm.isf(alpha)
        if lower is not None and upper is not None:
            apart = (upper[0] - lower[0]) / se
            z = brentq(lambda z: norm.sf(z) + norm.sf(z + apart) - alpha, z - 1e-9, norm.isf(alpha / 2) + 1e-9, xtol=1e-14, rtol=1e-14)
        return (None if lower is None else lower[0] - z * se, None if upper is None else upper[0] + z * se)

    if n is None:
        n = 1
        while True:
            a, b = risks(n, sd, sides, lines(n))
            if a <= alpha + 1e-9 and b <= beta + 1e-9:
                break
            n += 1
    a, b = risks(n, sd, sides, lines(n))
    low, high = lines(n)
    se = sd / math.sqrt(n)
    oc = []
    for step in range(-6, 7):
        level = (lsl if usl is None else usl if lsl is None else (lsl + usl) / 2) + step * 0.7 * sd
        inside = (1 if high is None else norm.cdf(high, level, se)) - (0 if low is None else norm.cdf(low, level, se))
        oc.append([level, float(inside)])
    return dict(sampleSize=n, lower=low, upper=high, achievedAlpha=float(a), achievedBeta=float(b), operatingCharacteristic=oc)


cases = []
for i, (lsl, usl, sd, p0, p1, alpha, beta, source) in enumerate(
    [
        (9.5, 10.5, 0.08, 0.0001, 0.01, 0.05, 0.05, 'acceptable-level'),
        (None, 10.0, 0.5, 0.001, 0.02, 0.05, 0.1, 'acceptable-level'),
        (2.0, None, 0.03, 1e-5, 0.005, 0.01, 0.05, 'acceptable-level'),
        (9.5, 10.5, 0.08, 0.0001, 0.01, 0.05, 0.05, 'rejectable-level'),
        (None, 0.25, 0.02, 0.0005, 0.003, 0.1, 0.2, 'rejectable-level'),
        (0.0, 1.0, 0.16, 0.001, 0.05, 0.05, 0.05, 'acceptable-level'),
        (0.0, 1.0, 0.12, 0.00135, 0.05, 0.0027, 0.1, 'acceptable-level'),
    ]
):
    cases.append(
        dict(
            id=f'fractions-{i}',
            inputs=dict(kind='fractions', lowerSpec=lsl, upperSpec=usl, standardDeviation=sd, acceptable=p0, rejectable=p1, alpha=alpha, beta=beta, limitsFrom=source),
            expected=plan(lsl, usl, sd, p0, p1, alpha, beta, source),
            tolerance=1e-9,
            absoluteTolerance=1e-11,
        )
    )
for i, (lsl, usl, sd, lower, upper, alpha, beta, source, n) in enumerate(
    [
        (9.0, 11.0, 0.2, (10.0, 9.6), (10.0, 10.4), 0.05, 0.05, 'acceptable-level', None),
        (9.0, 11.0, 0.2, (10.0, 9.6), (10.0, 10.4), 0.05, 0.05, 'rejectable-level', None),
        (9.0, 11.0, 0.2, (9.95, 9.6), (10.02, 10.5), 0.02, 0.1, 'acceptable-level', None),
        (9.0, 11.0, 0.2, (9.9, 9.5), (10.1, 10.5), 0.05, 0.1, 'acceptable-level', 4),
        (9.0, 11.0, 0.2, (9.9, 9.5), (10.1, 10.5), 0.05, 0.1, 'rejectable-level', 3),
    ]
):
    inputs = dict(kind='levels', lowerSpec=lsl, upperSpec=usl, standardDeviation=sd, lower=lower, upper=upper, alpha=alpha, beta=beta, limitsFrom=source)
    if n is not None:
        inputs['sampleSize'] = n
    cases.append(
        dict(
            id=f'levels-{i}',
            inputs=inputs,
            expected=plan(lsl, usl, sd, None, None, alpha, beta, source, dict(lower=lower, upper=upper), n),
            tolerance=1e-9,
            absoluteTolerance=1e-11,
        )
    )
write(
    'acceptance-charts',
    'ISO 7870-3: acceptance control limit = APL + z(alpha) sd/sqrt(n) or RPL - z(beta) sd/sqrt(n), likewise below; with two sides z solves Q(z) + Q(z + distance of the APLs) = alpha; the sample size is found by trying 1, 2, 3, ...',
    dict(fractions='APL, RPL = specification limit -+ z(fraction) sd', operatingCharacteristic='[process mean, probability inside the limits]'),
    cases,
)
