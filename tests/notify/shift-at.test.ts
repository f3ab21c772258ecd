import { describe, expect, it } from 'vitest';
import { isInShift } from '../../api/routing/shift-at.ts';

// Checked by hand against a calendar: 2025-09-03 is a Wednesday.
describe('shifts', () => {
  const early = { id: 'e', name: 'Early', start: '06:00', end: '14:00', weekdays: [3] };
  const night = { id: 'n', name: 'Night', start: '22:00', end: '06:00', weekdays: [3] };
  it.each([
    [early, '2025-09-03T06:00:00+02:00', true],
    [early, '2025-09-03T13:59:59+02:00', true],
    [early, '2025-09-03T14:00:00+02:00', false],
    [early, '2025-09-04T06:00:00+02:00', false],
    [night, '2025-09-03T21:59:59+02:00', false],
    [night, '2025-09-03T22:00:00+02:00', true],
    [night, '2025-09-04T05:59:59+02:00', true],
    [night, '2025-09-04T06:00:00+02:00', false],
    [night, '2025-09-04T22:00:00+02:00', false],
    [{ ...night, end: '22:00' }, '2025-09-04T21:59:00+02:00', true],
  ] as const)('%o works at %s: %s', (shift, at, works) => {
    expect(isInShift({ ...shift, weekdays: [...shift.weekdays] }, Date.parse(at), 120)).toBe(works);
  });
});
