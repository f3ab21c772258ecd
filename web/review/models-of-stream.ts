import type { PartModel, PlantModel } from '../../api/schemas.ts';

/** Part models that a stream may meet: those whose drawing asks for its characteristic, else all. */
export function modelsOfStream(plant: PlantModel, streamId: string): readonly PartModel[] {
  const stream = plant.streams.find((candidate) => candidate.id === streamId);
  const specified = plant.models.filter((model) =>
    plant.specifications.some(
      (one) => one.characteristicId === stream?.characteristicId && one.modelId === model.id,
    ),
  );
  return specified.length > 0 ? specified : plant.models;
}
