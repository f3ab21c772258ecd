import { isKeyId } from '../keys/key-name.ts';
import { conflict, unacceptable, unknown } from '../problem.ts';
import type { Characteristic, Plant, PlantModel, PlantRecordKind } from '../schemas.ts';
import { requireSecondSignature } from '../second-signatures.ts';
import type { StoreTransaction } from '../store/store.ts';
import type { By } from './by.ts';
import { requirePerson } from './stream-context.ts';

/** A record of the plant's own model, with its kind. */
export type PlantRecord =
  | { readonly kind: 'plant'; readonly record: Plant }
  | {
      [Kind in PlantRecordKind]: { readonly kind: Kind; readonly record: PlantModel[Kind][number] };
    }[PlantRecordKind];

/** Adds or changes a record of the plant; a change needs a reason. False where nothing changes. */
export async function savePlantRecord(
  store: StoreTransaction,
  plant: PlantModel,
  plantRecord: PlantRecord,
  reason: string,
  by: By,
  now: number,
): Promise<boolean> {
  const { kind, record } = plantRecord;
  const addsThemselves = kind === 'people' && record.id === by.personId;
  if (!addsThemselves) requirePerson(plant, by.personId);
  await check(store, plant, plantRecord);
  const id = idOf(plantRecord);
  const before = stored(plant, plantRecord, id);
  if (before !== null && reason === '') {
    throw unacceptable('reason', 'must say why an existing record is changed.');
  }
  if (JSON.stringify(before) === JSON.stringify(record)) return false;
  const byTwo = kind === 'specifications' || kind === 'plans';
  // A first record has judged nothing yet.
  if (byTwo && before !== null)
    requireSecondSignature(plant.people, by, 'changed specification or sampling plan');
  const secondPersonId = byTwo ? (by.secondPersonId ?? null) : null;
  await store.savePlantRecord({
    kind,
    id,
    before,
    after: record,
    reason,
    personId: by.personId,
    secondPersonId,
    at: now,
  });
  return true;
}

function idOf({ kind, record }: PlantRecord): string {
  switch (kind) {
    case 'plant':
      return 'plant';
    case 'specifications':
      return `${record.characteristicId}/${record.modelId}`;
    case 'plans':
      return record.streamId;
    default:
      return record.id;
  }
}

function stored(plant: PlantModel, { kind }: PlantRecord, id: string): unknown {
  if (kind === 'plant') return plant.plant.name === '' ? null : plant.plant;
  const records = plant[kind] as readonly PlantRecord['record'][];
  return records.find((record) => idOf({ kind, record } as PlantRecord) === id) ?? null;
}

async function check(
  store: StoreTransaction,
  plant: PlantModel,
  { kind, record }: PlantRecord,
): Promise<void> {
  const known = (list: readonly { readonly id: string }[], what: string, id: string, field: string) => {
    if (!list.some((candidate) => candidate.id === id)) throw unknown(what, id, `record.${field}`);
  };
  switch (kind) {
    case 'people':
      if (isKeyId(record.id)) throw unacceptable('record.id', 'must not begin as the ids of keys do.');
      return;
    case 'stations':
      return known(plant.lines, 'line', record.lineId, 'lineId');
    case 'specifications':
      known(plant.characteristics, 'characteristic', record.characteristicId, 'characteristicId');
      return known(plant.models, 'part model', record.modelId, 'modelId');
    case 'streams': {
      known(plant.characteristics, 'characteristic', record.characteristicId, 'characteristicId');
      known(plant.stations, 'station', record.stationId, 'stationId');
      const before = plant.streams.find(({ id }) => id === record.id);
      if (before === undefined || before.characteristicId === record.characteristicId) return;
      return refuseWithSamples(store, [record.id], 'characteristicId', before.characteristicId);
    }
    case 'characteristics':
      return checkCharacteristic(store, plant, record);
    case 'plans': {
      known(plant.streams, 'stream', record.streamId, 'streamId');
      const { characteristicId } = plant.streams.find(({ id }) => id === record.streamId)!;
      const { kind: measured } = plant.characteristics.find(({ id }) => id === characteristicId)!;
      if (measured === 'count' && record.chart !== 'none') {
        throw unacceptable('record.chart', 'must be none: counts are stored, their chart is not there yet.');
      }
      return;
    }
    default:
      return;
  }
}

async function checkCharacteristic(
  store: StoreTransaction,
  plant: PlantModel,
  record: Characteristic,
): Promise<void> {
  const { lowerNaturalBound: lower, upperNaturalBound: upper } = record;
  if (lower !== null && upper !== null && lower >= upper) {
    throw unacceptable('record.upperNaturalBound', 'must be greater than lowerNaturalBound.');
  }
  const before = plant.characteristics.find(({ id }) => id === record.id);
  if (before === undefined) return;
  const streams = plant.streams.filter(({ characteristicId }) => characteristicId === record.id);
  const streamIds = streams.map(({ id }) => id);
  if (before.unit !== record.unit) await refuseWithSamples(store, streamIds, 'unit', before.unit);
  if (before.kind !== record.kind) await refuseWithSamples(store, streamIds, 'kind', before.kind);
}

/** What stored values mean must not change under them. */
async function refuseWithSamples(
  store: StoreTransaction,
  streamIds: readonly string[],
  field: string,
  before: string,
): Promise<void> {
  for (const streamId of streamIds) {
    if ((await store.latestSample(streamId)) !== null) {
      throw conflict(
        `record.${field}`,
        `must stay "${before}": stream "${streamId}" has samples that were stored with it. Add a new record instead.`,
      );
    }
  }
}
