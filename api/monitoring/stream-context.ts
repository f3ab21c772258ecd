import type { MonitoringSettings } from '../../src/charts/variables/evaluate-newest.ts';
import { isKeyId } from '../keys/key-name.ts';
import { unknown } from '../problem.ts';
import type {
  Characteristic,
  Line,
  Plant,
  PlantModel,
  SamplingPlan,
  Specification,
  Stream,
} from '../schemas.ts';

/** Everything the plant says about the samples of one stream and part model. */
export interface StreamContext {
  readonly plant: Plant;
  readonly line: Line;
  readonly stream: Stream;
  readonly modelId: string;
  readonly characteristic: Characteristic;
  readonly plan: SamplingPlan | null;
  readonly specification: Specification | null;
  /** Part models that the characteristic has a specification for. */
  readonly specifiedModels: readonly string[];
  /** What a mixed-up part would measure. */
  readonly otherModels: readonly {
    readonly modelId: string;
    readonly name: string;
    readonly nominal: number;
  }[];
  /** How the chart is read; null where the plan draws none. */
  readonly settings: MonitoringSettings | null;
}

// A plant model is replaced as a whole when it changes, so what was put together from it lives as long as it does.
const known = new WeakMap<PlantModel, Map<string, StreamContext>>();

/** Refuses, naming the field, what the plant does not know. */
export function streamContext(plant: PlantModel, streamId: string, modelId: string): StreamContext {
  let contexts = known.get(plant);
  if (contexts === undefined) {
    contexts = new Map();
    known.set(plant, contexts);
  }
  const key = `${streamId} ${modelId}`;
  let context = contexts.get(key);
  if (context === undefined) {
    context = putTogether(plant, streamId, modelId);
    contexts.set(key, context);
  }
  return context;
}

function putTogether(model: PlantModel, streamId: string, modelId: string): StreamContext {
  const stream = model.streams.find(({ id }) => id === streamId);
  if (stream === undefined) throw unknown('stream', streamId, 'streamId');
  if (!model.models.some(({ id }) => id === modelId)) throw unknown('part model', modelId, 'modelId');
  // Saved records always refer to records that exist.
  const characteristic = model.characteristics.find(({ id }) => id === stream.characteristicId)!;
  const station = model.stations.find(({ id }) => id === stream.stationId)!;
  const line = model.lines.find(({ id }) => id === station.lineId)!;
  const plan = model.plans.find((candidate) => candidate.streamId === streamId) ?? null;
  const specifications = model.specifications.filter(
    ({ characteristicId }) => characteristicId === characteristic.id,
  );
  const specification = specifications.find((candidate) => candidate.modelId === modelId) ?? null;
  const otherModels = specifications.flatMap(({ modelId: other, nominal }) =>
    other === modelId || nominal === null || nominal === specification?.nominal
      ? []
      : [{ modelId: other, name: model.models.find(({ id }) => id === other)!.name, nominal }],
  );
  const settings =
    plan === null || plan.chart === 'none'
      ? null
      : {
          kind: plan.chart,
          locationRules: { rules: plan.locationRules },
          spreadRules: { rules: plan.spreadRules },
          lowerNaturalBound: characteristic.lowerNaturalBound,
          upperNaturalBound: characteristic.upperNaturalBound,
        };
  return {
    plant: model.plant,
    line,
    stream,
    modelId,
    characteristic,
    plan,
    specification,
    specifiedModels: specifications.map((candidate) => candidate.modelId),
    otherModels,
    settings,
  };
}

/** A record carries the name of somebody who is there, or the key of the program that made it. */
export function requirePerson(plant: PlantModel, personId: string): void {
  if (isKeyId(personId)) return;
  if (!plant.people.some(({ id }) => id === personId)) throw unknown('person', personId, 'Runtrue-Person');
}
