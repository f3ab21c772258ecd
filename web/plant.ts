/** The model of the plant, loaded once and again when Setup changes it, with the look-ups that screens need. */
import { computed, signal } from '@preact/signals';
import type { PlantModel } from '../api/schemas.ts';
import { call } from './client.ts';

export const plantModel = signal<PlantModel | null>(null);

export async function loadPlant(): Promise<void> {
  plantModel.value = await call('GET /api/plant');
}

const byId = <T extends { id: string }>(list: readonly T[] | undefined): ReadonlyMap<string, T> =>
  new Map((list ?? []).map((item) => [item.id, item]));

export const peopleById = computed(() => byId(plantModel.value?.people));
export const linesById = computed(() => byId(plantModel.value?.lines));
export const stationsById = computed(() => byId(plantModel.value?.stations));
export const modelsById = computed(() => byId(plantModel.value?.models));
export const characteristicsById = computed(() => byId(plantModel.value?.characteristics));
export const streamsById = computed(() => byId(plantModel.value?.streams));
export const plansByStreamId = computed(
  () => new Map((plantModel.value?.plans ?? []).map((plan) => [plan.streamId, plan])),
);
export const utcOffsetMinutes = computed(() => plantModel.value?.plant.utcOffsetMinutes ?? 0);

export const specificationFor = (characteristicId: string, modelId: string) =>
  plantModel.value?.specifications.find(
    (s) => s.characteristicId === characteristicId && s.modelId === modelId,
  ) ?? null;
