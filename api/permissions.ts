/** Who may do what. The whole table: nothing else in the API asks for a role, and api/http/handle.ts asks here. */
import { ProblemError } from './problem.ts';
import type { Role } from './schemas.ts';

const atTheLine = ['tech', 'engineer', 'supervisor', 'quality-manager'] as const;
const everyone = [...atTheLine, 'administrator'] as const;

/** Each action with the roles that may do it; 'anyone' also without having signed in. */
export const permissions = {
  'come in': 'anyone',
  read: everyone,
  'look after their own sign-in': everyone,
  'enter samples': atTheLine,
  'correct samples': atTheLine,
  'declare missed samples': atTheLine,
  'record events': atTheLine,
  'work on alarms': atTheLine,
  'state first pieces': ['tech'],
  'approve first pieces': ['engineer'],
  'close alarms': ['engineer', 'quality-manager'],
  'import samples': atTheLine,
  'freeze control limits': ['engineer'],
  'change the plant': ['engineer', 'quality-manager', 'administrator'],
  'change specifications and sampling plans': ['engineer', 'quality-manager'],
  'manage people': ['administrator'],
  'register stations': ['administrator'],
  'manage keys': ['administrator'],
  'take a backup': ['administrator'],
  'read metrics': ['administrator'],
  'shelve alarms': ['engineer', 'supervisor', 'quality-manager'],
  'hand over a shift': ['supervisor'],
  'grant concessions': ['quality-manager'],
  'route alarms': ['engineer', 'quality-manager', 'administrator'],
  'look after messages': ['engineer', 'supervisor', 'quality-manager', 'administrator'],
} as const satisfies Record<string, readonly Role[] | 'anyone'>;

export type Action = keyof typeof permissions;

export const roleNames: Record<Role, string> = {
  tech: 'a quality technician',
  engineer: 'a process engineer',
  supervisor: 'a shift supervisor',
  'quality-manager': 'a quality manager',
  administrator: 'an administrator',
};

export function roleMay(role: Role, action: Action): boolean {
  const roles: readonly Role[] | 'anyone' = permissions[action];
  return roles === 'anyone' || roles.includes(role);
}

/** 403, naming who may. */
export function notAllowed(action: Action, person: { readonly name: string; readonly role: Role } | null) {
  const roles: readonly Role[] | 'anyone' = permissions[action];
  const who = roles === 'anyone' ? 'anyone' : roles.map((role) => roleNames[role]).join(' or ');
  const acts = person === null ? 'nobody is signed in' : `${person.name} acts as ${roleNames[person.role]}`;
  const message = `Only ${who} may ${action}; ${acts}.`;
  return new ProblemError(403, 'Not allowed', message, [{ field: 'Runtrue-Person', message }]);
}
