import { describe, expect, it } from 'vitest';
import type { ApiKey } from '../../api/schemas.ts';
import { endOfDay, reachInWords, reachOf, stateInWords } from '../../web/keys/key-words.ts';

const key: ApiKey = {
  id: 'key.gauge',
  name: 'Gauge',
  scopes: ['read'],
  reach: null,
  madeBy: 'boss',
  madeAt: '2025-09-01T06:00:00.000Z',
  expiresAt: null,
  revokedAt: null,
  revokedBy: null,
  lastUsedOn: null,
};

describe('what the page says about a key', () => {
  const now = Date.parse('2025-09-03T08:00:00Z');
  it.each([
    [{}, /^works until it is revoked$/],
    [{ expiresAt: '2025-09-03T08:00:01.000Z' }, /^works until /],
    [{ expiresAt: '2025-09-03T08:00:00.000Z' }, /^expired /],
    [{ expiresAt: '2025-09-01T08:00:00.000Z', revokedAt: '2025-09-01T07:00:00.000Z' }, /^revoked /],
  ])('%j', (changes, words) => {
    expect(stateInWords({ ...key, ...changes }, now, 120)).toMatch(words);
  });

  it('ends with a day of the plant, not of UTC', () => {
    // The first moment of 4 September, two hours east of UTC.
    expect(endOfDay('2025-09-03', 120)).toBe('2025-09-03T22:00:00.000Z');
    expect(endOfDay('2025-12-31', -300)).toBe('2026-01-01T05:00:00.000Z');
    expect(endOfDay('', 120)).toBeNull();
  });

  it('names where it reaches, as it was chosen', () => {
    for (const choice of ['line R1', 'stream C5-R1']) expect(reachInWords(reachOf(choice))).toBe(choice);
    expect(reachOf('')).toBeNull();
    expect(reachInWords(null)).toBe('the whole plant');
  });
});
