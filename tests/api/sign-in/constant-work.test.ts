import { expect, it, vi } from 'vitest';
import { hashOf, matches } from '../../../api/sign-in/secrets.ts';

const compared = vi.hoisted(() => [] as string[]);
vi.mock('@node-rs/argon2', async (original) => {
  const real = await original<typeof import('@node-rs/argon2')>();
  return {
    ...real,
    verify: (hash: string, secret: string) => {
      compared.push(hash.split('$').slice(0, 4).join('$'));
      return real.verify(hash, secret);
    },
  };
});

it('a secret is compared as often, and at the same cost, whether the person has one or not', async () => {
  const stored = await hashOf('seven quiet rollers');
  expect(await matches(stored, 'seven quiet rollers')).toBe(true);
  expect(await matches(stored, 'seven loud rollers')).toBe(false);
  expect(await matches(null, 'seven quiet rollers')).toBe(false);
  expect(compared).toEqual(Array(3).fill('$argon2id$v=19$m=19456,t=2,p=1'));
});
