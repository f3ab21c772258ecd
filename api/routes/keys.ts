import type { AppParts } from '../app-parts.ts';
import type { Handle } from '../http/handle.ts';

export function keyRoutes(handle: Handle, { keys }: AppParts): void {
  handle('GET /api/keys', () => keys.list());
  handle('POST /api/keys', ({ body, by }) => keys.make(body, by.personId));
  handle('POST /api/keys/{id}/revocation', ({ params, body, by }) => keys.revoke(params.id, body.reason, by));
}
