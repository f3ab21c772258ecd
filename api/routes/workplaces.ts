import type { AppParts } from '../app-parts.ts';
import type { Handle } from '../http/handle.ts';
import { buildFloor } from '../workplaces/floor.ts';
import { buildReview } from '../workplaces/review.ts';
import { buildStationWork } from '../workplaces/station-work.ts';

export function workplaceRoutes(handle: Handle, parts: AppParts): void {
  handle('GET /api/stations/{id}/work', ({ params }) => buildStationWork(parts, params.id));
  handle('GET /api/floor', () => buildFloor(parts));
  handle('GET /api/review', ({ query }) => buildReview(parts, query));
}
