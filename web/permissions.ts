/** What whoever is here may do, by the server's own table: pages show the rest as readable only, and say who may. */
import { effect, signal } from '@preact/signals';
import type { Permissions, Role } from '../api/schemas.ts';
import { call } from './client.ts';
import { peopleById } from './plant.ts';
import { actingPersonId, mayRead, session } from './session.ts';
import { roleNames } from './ui/role-names.ts';

const table = signal<Permissions>([]);

/** Reads the table anew whenever somebody else is here, or has another role. */
export function watchPermissions(): void {
  let newest = 0;
  effect(() => {
    const role = hereAs();
    if (!mayRead.value || role === null) return;
    const asked = ++newest;
    call('GET /api/permissions').then(
      (answer) => {
        if (asked === newest) table.value = answer;
      },
      // Then nothing is shown as closed, and the server refuses what may not be.
      () => {},
    );
  });
}

const hereAs = () =>
  session.value?.person?.role ?? peopleById.value.get(actingPersonId.value ?? '')?.role ?? null;

const aRole = (role: Role): string => `${/^[aeiou]/.test(roleNames[role]) ? 'an' : 'a'} ${roleNames[role]}`;

/**
 * Who may do what whoever is here may not, in one sentence. null where they may, and where nobody has said yet who
 * they are: then they are asked.
 */
const whyNotBy = (matches: (row: Permissions[number]) => boolean): string | null => {
  const role = hereAs();
  const row = table.value.find(matches);
  if (actingPersonId.value === null || role === null || row === undefined) return null;
  // A role that may do it and yet may not now has something to set up first, which the server says.
  if (row.may || row.roles.includes(role)) return null;
  const names = row.roles.map(aRole);
  const who = names.length < 2 ? names.join() : `${names.slice(0, -1).join(', ')} or ${names.at(-1)}`;
  return `Only ${who} may ${row.action}; you are here as ${aRole(role)}.`;
};

export const whyNot = (action: string): string | null => whyNotBy((row) => row.action === action);

/** The same for saving records of a kind, which is their address under /api/. */
export const whyNotSave = (kind: string): string | null =>
  whyNotBy(({ endpoints }) =>
    endpoints.some((key) => key === `PUT /api/${kind}` || key.startsWith(`PUT /api/${kind}/`)),
  );
