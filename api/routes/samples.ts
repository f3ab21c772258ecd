import type { AppParts } from '../app-parts.ts';
import type { Handle } from '../http/handle.ts';
import { linkToNext, USUAL_PAGE } from '../http/next-page.ts';
import { revisionPayload, samplePayload, signalPayload } from '../monitoring/payloads.ts';
import { streamOf } from '../plant-lookup.ts';
import { unknown } from '../problem.ts';

export function sampleRoutes(handle: Handle, { store, monitoring }: AppParts): void {
  handle('GET /api/samples', async ({ query, request, answerHeaders }) => {
    const { streamId, after = 0, limit = USUAL_PAGE } = query;
    streamOf(await store.plantModel(), streamId, 'streamId');
    const rows = await store.samplesAfter(streamId, after, limit);
    answerHeaders.set('Link', linkToNext(request, rows.at(-1)?.no ?? after));
    return rows.map(samplePayload);
  });

  handle('GET /api/signals', async ({ query, request, answerHeaders }) => {
    const { streamId, after = 0, limit = USUAL_PAGE } = query;
    streamOf(await store.plantModel(), streamId, 'streamId');
    const rows = await store.signalsAfter(streamId, after, limit);
    answerHeaders.set('Link', linkToNext(request, rows.at(-1)?.id ?? after));
    return rows.map(signalPayload);
  });

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
