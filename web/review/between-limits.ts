import type { ControlLimits } from '../../src/charts/control-chart.ts';

/** "9.1 to 10.9", "up to 10.9" where no lower control limit exists. */
export function betweenLimits(limits: ControlLimits, write: (value: number) => string): string {
  const { lowerControlLimit: lower, upperControlLimit: upper } = limits;
  if (lower !== null && upper !== null) return `${write(lower)} to ${write(upper)}`;
  if (upper !== null) return `up to ${write(upper)}`;
  return lower === null ? 'none' : `from ${write(lower)}`;
}
