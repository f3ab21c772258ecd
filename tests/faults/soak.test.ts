import { expect, it } from 'vitest';
import { type DayRow, judgeFlatness } from './soak.ts';

/** Figures that move about a level, the same in every run. */
const rows = (memory: (day: number) => number): DayRow[] =>
  Array.from({ length: 24 }, (_, index) => {
    const wobble = ((index * 7) % 5) - 2;
    return {
      day: index + 1,
      samples: 384,
      p50: 5 + wobble / 10,
      p99: 20 + wobble,
      // The page cache grows with the database.
      rss: memory(index + 1) + 2 * (20 + index) + wobble,
      heap: 25,
      external: 4 + wobble / 100,
      database: 20 + index,
    };
  });

const judged = (days: readonly DayRow[]): { flat: boolean; said: string } => {
  const said: string[] = [];
  const flat = judgeFlatness(days, (line) => said.push(line));
  return { flat, said: said.join('\n') };
};

it('calls flat what only wobbles, also where the first days are still filling caches', () => {
  const { flat, said } = judged(rows((day) => (day <= 3 ? 100 : 170)));
  expect(said).toMatch(/memory less the page cache: mean .* .95 % interval .* over 20 days: flat\./);
  expect(flat).toBe(true);
});

it('says which figure grows', () => {
  const { flat, said } = judged(rows((day) => 150 + 3 * day));
  expect(said).toMatch(/memory less the page cache: .*: NOT flat\./);
  expect(said).toMatch(/p99: .*: flat\./);
  expect(flat).toBe(false);
});

it('leaves days without samples out of the times', () => {
  const withSundays = rows(() => 170).map((row) =>
    row.day % 7 === 0 ? { ...row, samples: 0, p50: Number.NaN, p99: Number.NaN } : row,
  );
  expect(judged(withSundays).flat).toBe(true);
});
