import { logRatio } from './logs-of.ts';

/** (exp(lambda · log) − 1)/lambda, which is the logarithm itself where lambda is 0. */
export function powerOfLog(log: number, lambda: number): number {
  const exponent = lambda * log;
  return Math.abs(exponent) < 1e-8 ? log * (1 + exponent / 2) : Math.expm1(exponent) / lambda;
}

/** (x^lambda − 1)/lambda, ln x where lambda is 0; x > 0. */
export function boxCoxPower(x: number, lambda: number): number {
  return powerOfLog(logRatio(x, 1), lambda);
}

/** The x of a power; the end of its range, 0 or Infinity, where no x has it. */
export function boxCoxValue(power: number, lambda: number): number {
  const raised = lambda * power;
  if (raised <= -1) return lambda > 0 ? 0 : Infinity;
  return Math.exp(Math.abs(raised) < 1e-8 ? power * (1 - raised / 2) : Math.log1p(raised) / lambda);
}
