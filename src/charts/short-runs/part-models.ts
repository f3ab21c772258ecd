import { StatisticsError } from '../../errors.ts';
import type { Subgroup } from '../../samples/subgroup.ts';

/** One sample of a stream that makes several part models in turn. */
export interface PartSample {
  /** Name of the part model. */
  readonly part: string;
  readonly readings: Subgroup;
}

/** One reading of such a stream; null for a missing one. */
export interface PartValue {
  readonly part: string;
  readonly value: number | null;
}

/** Finds a model by its name; errors name the list as `<argument>.models`. */
export function partModels<Model extends { readonly part: string }>(
  models: readonly Model[],
  argument: string,
): (part: string, partArgument: string) => Model {
  if (models.length === 0) throw new StatisticsError('empty', `${argument}.models`, models);
  const byName = new Map<string, Model>();
  models.forEach((model, index) => {
    if (byName.has(model.part))
      throw new StatisticsError(
        'out-of-range',
        `${argument}.models.${index}.part`,
        model.part,
        'Each part model is listed once.',
      );
    byName.set(model.part, model);
  });
  return (part, partArgument) => {
    const model = byName.get(part);
    if (model === undefined)
      throw new StatisticsError(
        'unknown-name',
        partArgument,
        part,
        `Choose one of: ${[...byName.keys()].join(', ')}.`,
      );
    return model;
  };
}
