/** ln(x / reference), to all digits also where x and reference are nearly equal. */
export function logRatio(x: number, reference: number): number {
  const distance = x - reference;
  return Math.abs(distance) < reference / 2
    ? Math.log1p(distance / reference)
    : Math.log(x) - Math.log(reference);
}

/** ln(x / reference) of every value. */
export function logsOf(values: Float64Array, reference: number): Float64Array {
  const logs = new Float64Array(values.length);
  for (let index = 0; index < values.length; index++) logs[index] = logRatio(values[index]!, reference);
  return logs;
}
