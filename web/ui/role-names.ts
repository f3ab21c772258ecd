import type { Role } from '../../api/schemas.ts';

export const roleNames: Record<Role, string> = {
  tech: 'quality tech',
  engineer: 'process engineer',
  supervisor: 'shift supervisor',
  'quality-manager': 'quality manager',
  administrator: 'administrator',
};
