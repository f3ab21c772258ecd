import { requireSameLength } from '../checks.ts';

/** One entry a point, filled by the bulk form of a chart; may be passed in again to be reused. */
export interface ChartColumns {
  /** Plotted statistic. */
  readonly values: Float64Array;
  readonly lowerControlLimits: Float64Array;
  readonly upperControlLimits: Float64Array;
  /** 0 inside or on the limits, 1 above the upper, 2 below the lower limit. */
  readonly beyondLimits: Uint8Array;
}

/** The columns passed in, or new ones. */
export function chartColumns(
  length: number,
  given: ChartColumns | undefined,
  argument: string,
): ChartColumns {
  if (given === undefined)
    return {
      values: new Float64Array(length),
      lowerControlLimits: new Float64Array(length),
      upperControlLimits: new Float64Array(length),
      beyondLimits: new Uint8Array(length),
    };
  for (const name of ['values', 'lowerControlLimits', 'upperControlLimits', 'beyondLimits'] as const)
    requireSameLength(given[name].length, length, `${argument}.${name}`, 'values');
  return given;
}
