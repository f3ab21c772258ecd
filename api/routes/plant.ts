import type { AppParts } from '../app-parts.ts';
import { plantTag, requirePlantTag } from '../http/entity-tag.ts';
import type { Handle } from '../http/handle.ts';
import type { PlantRecord } from '../monitoring/save-plant-record.ts';
import { unacceptable } from '../problem.ts';

/** The address and the record must name the same thing. */
function sameId(inPath: string, inRecord: string, field: string): void {
  if (inPath === inRecord) return;
  throw unacceptable(`record.${field}`, `must be "${inPath}", as in the address; it is "${inRecord}"`);
}

export function plantRoutes(handle: Handle, { store, monitoring }: AppParts): void {
  const save = async (
    plantRecord: PlantRecord,
    reason: string | undefined,
    by: Parameters<typeof monitoring.savePlantRecord>[2],
    request: Request,
  ): Promise<{ ok: true }> => {
    const ifMatch = request.headers.get('if-match');
    await monitoring.savePlantRecord(plantRecord, reason ?? '', by, (revision) =>
      requirePlantTag(ifMatch, revision),
    );
    return { ok: true };
  };

  handle('GET /api/plant', async ({ answerHeaders }) => {
    // The revision first: where the plant changes in between, the tag is too old rather than too new.
    answerHeaders.set('ETag', plantTag(await store.plantRevision()));
    return store.plantModel();
  });

  handle('PUT /api/plant', ({ body, by, request }) =>
    save({ kind: 'plant', record: body.record }, body.reason, by, request),
  );

  // The first person of an empty plant signs for themselves.
  handle('PUT /api/people/{id}', ({ params, body: { record, reason }, key, acting, door, request }) => {
    sameId(params.id, record.id, 'id');
    const by = { personId: acting?.person?.id ?? record.id, door, how: acting?.how ?? 'named', key };
    return save({ kind: 'people', record }, reason, by, request);
  });

  handle('PUT /api/lines/{id}', ({ params, body: { record, reason }, by, request }) => {
    sameId(params.id, record.id, 'id');
    return save({ kind: 'lines', record }, reason, by, request);
  });

  handle('PUT /api/stations/{id}', ({ params, body: { record, reason }, by, request }) => {
    sameId(params.id, record.id, 'id');
    return save({ kind: 'stations', record }, reason, by, request);
  });

  handle('PUT /api/models/{id}', ({ params, body: { record, reason }, by, request }) => {
    sameId(params.id, record.id, 'id');
    return save({ kind: 'models', record }, reason, by, request);
  });

  handle('PUT /api/characteristics/{id}', ({ params, body: { record, reason }, by, request }) => {
    sameId(params.id, record.id, 'id');
    return save({ kind: 'characteristics', record }, reason, by, request);
  });

  handle(
    'PUT /api/specifications/{characteristicId}/{modelId}',
    ({ params, body: { record, reason }, by, request }) => {
      sameId(params.characteristicId, record.characteristicId, 'characteristicId');
      sameId(params.modelId, record.modelId, 'modelId');
      return save({ kind: 'specifications', record }, reason, by, request);
    },
  );

  handle('PUT /api/streams/{id}', ({ params, body: { record, reason }, by, request }) => {
    sameId(params.id, record.id, 'id');
    return save({ kind: 'streams', record }, reason, by, request);
  });

  handle('PUT /api/plans/{id}', ({ params, body: { record, reason }, by, request }) => {
    sameId(params.id, record.streamId, 'streamId');
    return save({ kind: 'plans', record }, reason, by, request);
  });
}
