import { expect, it } from 'vitest';
import { Role } from '../../api/schemas.ts';
import { type SignedByTwo, secondSignatures, twoMaySign } from '../../api/second-signatures.ts';
import { rolesBeside } from '../../web/sign-in/two-signatures.ts';

it.each(Object.keys(secondSignatures) as SignedByTwo[])('offers for "%s" whom the server takes', (what) => {
  for (const role of Role.options) {
    const taken = Role.options.filter((other) => twoMaySign(what, role, other));
    expect(new Set(rolesBeside(what, role)), role).toEqual(new Set(taken));
  }
  expect(rolesBeside(what, undefined).length).toBeGreaterThan(0);
});
