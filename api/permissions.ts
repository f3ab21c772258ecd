import { ProblemError } from './problem.ts';
import type { Person, Role } from './schemas.ts';

const everyone: readonly Role[] = ['tech', 'engineer', 'supervisor'];

/** Who may do what. The whole table; nothing else in the API asks for a role. */
export const permissions = {
  'enter samples': everyone,
  'correct samples': everyone,
  'declare missed samples': everyone,
  'record events': everyone,
  'work on alarms': everyone,
  'change the plant': everyone,
  'freeze control limits': ['engineer'],
} as const satisfies Record<string, readonly Role[]>;

const roleNames: Record<Role, string> = {
  tech: 'a quality technician',
  engineer: 'a process engineer',
  supervisor: 'a shift supervisor',
};

/** Refuses with 403, naming who may. */
export function requirePermission(person: Person, action: keyof typeof permissions): void {
  const roles: readonly Role[] = permissions[action];
  if (roles.includes(person.role)) return;
  const who = roles.map((role) => roleNames[role]).join(' or ');
  const message = `Only ${who} may ${action}; ${person.name} acts as ${roleNames[person.role]}.`;
  throw new ProblemError(403, 'Not allowed', message, [{ field: 'Runtrue-Person', message }]);
}
