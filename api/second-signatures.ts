/**
 * What two people sign: the whole table, beside the one of who may do what (api/permissions.ts). After the records of
 * ISO 9001 8.5.2 and 8.7 and IATF 16949 8.5.1; who signs what is common practice, no source.
 */
import type { By } from './monitoring/by.ts';
import { roleNames } from './permissions.ts';
import { ProblemError } from './problem.ts';
import type { Person, Role } from './schemas.ts';

/** One of the two has a role of the first list, the other one of the second; who of them acts does not matter. */
export const secondSignatures = {
  'new control limits': [['engineer'], ['engineer', 'supervisor', 'quality-manager']],
  'changed specification or sampling plan': [['engineer'], ['quality-manager']],
  'release of parts set apart': [['engineer'], ['quality-manager']],
  'shift handover': [['supervisor'], ['supervisor']],
  'approval of a first piece': [['tech'], ['engineer']],
} as const satisfies Record<string, readonly [readonly Role[], readonly Role[]]>;

export type SignedByTwo = keyof typeof secondSignatures;

const words: Record<SignedByTwo, string> = {
  'new control limits': 'New control limits need',
  'changed specification or sampling plan': 'A changed specification or sampling plan needs',
  'release of parts set apart': 'Closing an alarm for which parts were set apart needs',
  'shift handover': 'A shift handover needs',
  'approval of a first piece': 'A first piece needs',
};

const listed = (roles: readonly Role[]): string => roles.map((role) => roleNames[role]).join(' or ');

const refusal = (status: number, field: string, message: string): ProblemError =>
  new ProblemError(status, 'Second signature', message, [{ field, message }]);

/** Whether these two may sign it together. */
export function twoMaySign(what: SignedByTwo, one: Role, other: Role): boolean {
  const [first, second]: readonly [readonly Role[], readonly Role[]] = secondSignatures[what];
  return (first.includes(one) && second.includes(other)) || (first.includes(other) && second.includes(one));
}

/**
 * Refuses a record that lacks its second signature, or carries one that does not count. `field` is where the refusal
 * points to, if the two did not sign in one request.
 */
export function requireSecondSignature(
  people: readonly Person[],
  { personId, secondPersonId }: By,
  what: SignedByTwo,
  field = 'secondSignature.personId',
): void {
  const [first, second] = secondSignatures[what];
  const needs = `${words[what]} two signatures: ${listed(first)} and, as another person, ${listed(second)}`;
  if (secondPersonId === undefined)
    throw refusal(422, 'secondSignature', `${needs}. Have the second person sign as well.`);
  if (secondPersonId === personId) throw refusal(403, field, `${needs}. The same person cannot sign twice.`);
  const [one, other] = [personId, secondPersonId].map((id) => people.find((person) => person.id === id));
  if (one !== undefined && other !== undefined && twoMaySign(what, one.role, other.role)) return;
  const signed = [one, other].map((person) =>
    person === undefined ? 'somebody who is no person here' : `${person.name}, ${roleNames[person.role]}`,
  );
  throw refusal(403, field, `${needs}. These two signed: ${signed.join('; ')}.`);
}
