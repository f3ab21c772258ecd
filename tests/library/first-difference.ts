/** Another JavaScript engine may round exp and log differently in the last digit; sums of many carry that on. */
const RELATIVE = 1e-9;

/** Where two results differ by more than rounding; null where they do not. */
export function firstDifference(actual: unknown, expected: unknown, path: string): string | null {
  if (typeof actual === 'number' && typeof expected === 'number')
    return Math.abs(actual - expected) <= RELATIVE * Math.max(1, Math.abs(expected))
      ? null
      : `${path} is ${actual}, not ${expected}`;
  const bothObjects =
    typeof actual === 'object' && actual !== null && typeof expected === 'object' && expected !== null;
  if (!bothObjects) return actual === expected ? null : `${path} is ${actual}, not ${expected}`;
  for (const name of new Set([...Object.keys(actual), ...Object.keys(expected)])) {
    const found = firstDifference(
      (actual as Record<string, unknown>)[name],
      (expected as Record<string, unknown>)[name],
      `${path}.${name}`,
    );
    if (found !== null) return found;
  }
  return null;
}
