import type { AppParts } from '../app-parts.ts';
import type { Handle } from '../http/handle.ts';
import { lineOf } from '../plant-lookup.ts';
import { unacceptable } from '../problem.ts';
import { newestRestarts, restartDetail, waitingRestarts } from '../restarts/restart-payload.ts';

const USUAL_RESTARTS = 50;

export function restartRoutes(handle: Handle, { store, monitoring, clock }: AppParts): void {
  handle('GET /api/restarts', async ({ query: { lineId, open = 'true', limit = USUAL_RESTARTS } }) => {
    if (lineId !== undefined) lineOf(await store.plantModel(), lineId, 'lineId');
    if (open === 'true') return (await waitingRestarts(store, clock.now(), lineId)).slice(0, limit);
    if (lineId === undefined)
      throw unacceptable('lineId', 'is missing; restarts that were approved are listed line by line');
    return newestRestarts(store, lineId, limit, clock.now());
  });

  handle('GET /api/restarts/{id}', ({ params }) => restartDetail(store, params.id, clock.now()));

  handle('POST /api/restarts/{id}/first-piece', ({ params, body, by }) =>
    monitoring.stateFirstPiece(params.id, body, by),
  );

  handle('POST /api/restarts/{id}/decision', ({ params, body, by }) =>
    monitoring.decideRestart(params.id, body, by),
  );
}
