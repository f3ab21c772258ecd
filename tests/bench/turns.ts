const median = (times: readonly number[]) => [...times].sort((a, b) => a - b)[times.length >> 1]!;

/** Median time of each task in milliseconds. Tasks take turns, so that a busy machine slows all of them alike. */
export function medianTimes(tasks: readonly (() => unknown)[], repetitions: number, warmups = 3): number[] {
  const times = tasks.map((): number[] => []);
  for (let repetition = -warmups; repetition < repetitions; repetition++)
    tasks.forEach((task, which) => {
      const start = performance.now();
      task();
      if (repetition >= 0) times[which]!.push(performance.now() - start);
    });
  return times.map(median);
}

/** One pass over the memory: a plain sum. */
export function onePass(values: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += values[i]!;
  return sum;
}
