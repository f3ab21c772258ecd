import { type Action, roleMay } from '../permissions.ts';
import { ProblemError } from '../problem.ts';
import type { Role } from '../schemas.ts';

/** What a role may, once a second factor is there where one is asked for; until then only what sets it up. */
export const sessionMay = ({ limited }: { readonly limited: boolean }, role: Role, action: Action): boolean =>
  roleMay(role, action) && (!limited || action === 'come in' || action === 'look after their own sign-in');

export function secondFactorFirst(): ProblemError {
  const message =
    'Set up a second factor first, on the page of Runtrue: this plant asks for one beside the password of your role.';
  return new ProblemError(403, 'Second factor first', message, [{ field: 'session', message }]);
}
