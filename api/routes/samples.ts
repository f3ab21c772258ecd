import type { AppParts } from '../app-parts.ts';
import type { Handle } from '../http/handle.ts';
import { revisionPayload, samplePayload, signalPayload } from '../monitoring/payloads.ts';
import { unknown } from '../problem.ts';

export function sampleRoutes(handle: Handle, { store, monitoring }: AppParts): void {
  handle('POST /api/samples', async ({ body, by }) => (await monitoring.accept(body, by)).answer);

  handle('GET /api/samples/{id}', async ({ params: { id } }) => {
    const sample = await store.sample(id);
    if (sample === null) throw unknown('sample', id, 'id');
    return {
      sample: samplePayload(sample),
      revisions: (await store.revisions(id)).map(revisionPayload),
      signals: (await store.signalsOfSample(id)).map(signalPayload),
    };
  });

  handle('POST /api/samples/{id}/corrections', ({ params, body, by }) =>
    monitoring.correct(params.id, body, by),
  );
}
