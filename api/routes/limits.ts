import type { AppParts } from '../app-parts.ts';
import type { Handle } from '../http/handle.ts';
import { limitsPayload } from '../monitoring/payloads.ts';
import { modelOf, streamOf } from '../plant-lookup.ts';

export function limitsRoutes(handle: Handle, { store, monitoring }: AppParts): void {
  handle('GET /api/limits', async ({ query: { streamId, modelId } }) => {
    const model = await store.plantModel();
    streamOf(model, streamId, 'streamId');
    modelOf(model, modelId, 'modelId');
    return (await store.limitsVersions(streamId, modelId)).map(limitsPayload);
  });

  handle('POST /api/limits', ({ body, by }) => monitoring.freezeLimits(body, by));
}
