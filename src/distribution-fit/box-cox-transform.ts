import { logRatio } from './logs-of.ts';

/** (x^lambda − 1)/lambda, ln x where lambda is 0; x > 0. */
export function boxCoxPower(x: number, lambda: number): number {
  const log = logRatio(x, 1);
  return lambda === 0 ? log : Math.expm1(lambda * log) / lambda;
}

/** The x of a power; the end of its range, 0 or Infinity, where no x has it. */
export function boxCoxValue(power: number, lambda: number): number {
  if (lambda === 0) return Math.exp(power);
  const raised = lambda * power;
  if (raised <= -1) return lambda > 0 ? 0 : Infinity;
  return Math.exp(Math.log1p(raised) / lambda);
}
