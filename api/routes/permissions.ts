import { contract } from '../contract.ts';
import type { Handle } from '../http/handle.ts';
import { type Action, permissions, roleMay } from '../permissions.ts';
import { Role } from '../schemas.ts';

const actions = Object.keys(permissions) as Action[];

/** The table of who may do what, told: the page shows what may not be done as that, before anybody tries. */
export function permissionRoutes(handle: Handle): void {
  handle('GET /api/permissions', ({ acting }) =>
    actions.map((action) => ({
      action,
      may: acting!.may(action),
      roles: Role.options.filter((role) => roleMay(role, action)),
      endpoints: Object.entries(contract).flatMap(([key, endpoint]) =>
        endpoint.action === action ? [key] : [],
      ),
    })),
  );
}
