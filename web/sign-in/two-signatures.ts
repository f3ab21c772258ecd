/** Whom the forms offer as the second person; the server decides (api/second-signatures.ts), and a test compares. */
import type { Role } from '../../api/schemas.ts';

const pairs = {
  'new control limits': [['engineer'], ['engineer', 'supervisor', 'quality-manager']],
  'changed specification or sampling plan': [['engineer'], ['quality-manager']],
  'release of parts set apart': [['engineer'], ['quality-manager']],
  'shift handover': [['supervisor'], ['supervisor']],
  'approval of a first piece': [['tech'], ['engineer']],
} as const satisfies Record<string, readonly [readonly Role[], readonly Role[]]>;

export type SignedByTwo = keyof typeof pairs;

/** The roles that complete what a person of this role begins; everybody who could, where nobody is named yet. */
export function rolesBeside(what: SignedByTwo, role: Role | undefined): readonly Role[] {
  const [first, second]: readonly [readonly Role[], readonly Role[]] = pairs[what];
  if (role === undefined) return [...new Set([...first, ...second])];
  return [...new Set([...(first.includes(role) ? second : []), ...(second.includes(role) ? first : [])])];
}
