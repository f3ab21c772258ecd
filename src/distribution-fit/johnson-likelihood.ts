/**
 * What one value contributes at the two free parameters p and q of a Johnson distribution: u, whose multiple by delta
 * plus gamma is normal, w, the logarithm of its slope, and their derivatives.
 */
interface JohnsonTerms {
  u: number;
  up: number;
  uq: number;
  upp: number;
  upq: number;
  uqq: number;
  w: number;
  wp: number;
  wq: number;
  wpp: number;
  wpq: number;
  wqq: number;
}

/** Computes the terms of one value at (p, q). */
export type JohnsonScale = (x: number, p: number, q: number, terms: JohnsonTerms) => void;

export interface JohnsonLikelihood {
  /** Mean over the values of the log-likelihood, less the constant (1 + ln 2π)/2. */
  readonly value: number;
  readonly gradient: readonly [number, number];
  /** Second derivatives pp, pq, qq. */
  readonly curvature: readonly [number, number, number];
  readonly mean: number;
  /** Of u, with divisor n. */
  readonly standardDeviation: number;
}

/**
 * Profile log-likelihood of a Johnson distribution: with u given, gamma and delta are those of the normal fit, so two
 * parameters are left. One pass gives the value with its first and second derivatives.
 *
 * Source: N. L. Johnson, Biometrika 36, 1949, for the distributions; the profile follows from the normal fit.
 */
export function johnsonLikelihood(
  values: Float64Array,
  scale: JohnsonScale,
  p: number,
  q: number,
): JohnsonLikelihood {
  const n = values.length;
  const t = { u: 0, up: 0, uq: 0, upp: 0, upq: 0, uqq: 0, w: 0, wp: 0, wq: 0, wpp: 0, wpq: 0, wqq: 0 };
  scale(values[n >> 1]!, p, q, t);
  // Distances from the middle value, so that sums of squares do not cancel.
  const { u: u0, up: up0, uq: uq0 } = t;
  let [su, sp, sq, suu, sup, suq, spp, spq, sqq] = [0, 0, 0, 0, 0, 0, 0, 0, 0];
  let [tpp, tpq, tqq, utpp, utpq, utqq] = [0, 0, 0, 0, 0, 0];
  let [w, wp, wq, wpp, wpq, wqq] = [0, 0, 0, 0, 0, 0];
  for (let index = 0; index < n; index++) {
    scale(values[index]!, p, q, t);
    const u = t.u - u0;
    const up = t.up - up0;
    const uq = t.uq - uq0;
    su += u;
    sp += up;
    sq += uq;
    suu += u * u;
    sup += u * up;
    suq += u * uq;
    spp += up * up;
    spq += up * uq;
    sqq += uq * uq;
    tpp += t.upp;
    tpq += t.upq;
    tqq += t.uqq;
    utpp += u * t.upp;
    utpq += u * t.upq;
    utqq += u * t.uqq;
    w += t.w;
    wp += t.wp;
    wq += t.wq;
    wpp += t.wpp;
    wpq += t.wpq;
    wqq += t.wqq;
  }
  const covariance = (sum: number, a: number, b: number) => sum / n - (a / n) * (b / n);
  const variance = covariance(suu, su, su);
  const slopeP = covariance(sup, su, sp) / variance;
  const slopeQ = covariance(suq, su, sq) / variance;
  const bend = (firsts: number, seconds: number) => (firsts + seconds) / variance;
  return {
    value: w / n - Math.log(variance) / 2,
    gradient: [wp / n - slopeP, wq / n - slopeQ],
    curvature: [
      wpp / n - bend(covariance(spp, sp, sp), covariance(utpp, su, tpp)) + 2 * slopeP * slopeP,
      wpq / n - bend(covariance(spq, sp, sq), covariance(utpq, su, tpq)) + 2 * slopeP * slopeQ,
      wqq / n - bend(covariance(sqq, sq, sq), covariance(utqq, su, tqq)) + 2 * slopeQ * slopeQ,
    ],
    mean: u0 + su / n,
    standardDeviation: Math.sqrt(variance),
  };
}
