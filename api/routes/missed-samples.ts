import type { AppParts } from '../app-parts.ts';
import type { Handle } from '../http/handle.ts';

export function missedSampleRoutes(handle: Handle, { monitoring }: AppParts): void {
  handle('POST /api/missed-samples', ({ body, by }) => monitoring.declareMissed(body, by));
}
