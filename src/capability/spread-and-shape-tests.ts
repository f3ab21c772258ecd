import { andersonDarling } from '../distribution-fit/anderson-darling.ts';
import { type RandomSource, randomSource } from '../numerics/random.ts';

const mostWork = 1e5;

export interface SpreadAndShapeTests {
  readonly spreadPValue: number;
  readonly spreadMethod: string;
  /** null: subgroups of two whose spread changes say nothing about shape. */
  readonly shapePValue: number | null;
}

/**
 * Chances of such different spreads and of such a shape, for readings in subgroups whose level may move. All chances are
 * simulated, so they hold for any sizes.
 *
 * Shape comes first, in deviations that are divided by the standard deviation of their own subgroup, so that a changing
 * spread does not look like long tails. Where it passes for normal, the spread is held against normal subgroups;
 * otherwise against subgroups dealt at random from all deviations, which assumes no shape but sees less. Where the spread
 * passes for constant, the shape is looked at again in plain deviations, which see more.
 */
export function spreadAndShapeTests(
  subgroups: readonly (readonly number[])[],
  seed: number,
  significance: number,
): SpreadAndShapeTests {
  const random = randomSource(seed);
  const sizes = subgroups.map(({ length }) => length);
  const count = sizes.reduce((sum, size) => sum + size, 0);
  const rounds = Math.max(199, Math.min(999, Math.floor(mostWork / count)));
  const chance = (observed: number, draw: () => number) => {
    let asFar = 1;
    for (let round = 0; round < rounds; round++) if (draw() >= observed * (1 - 1e-12)) asFar++;
    return asFar / (rounds + 1);
  };
  const normalSubgroups = () => sizes.map((size) => Array.from({ length: size }, random.normal));
  const shapeChance = (studentised: boolean) => {
    const observed = distance(subgroups, studentised);
    return observed === null ? null : chance(observed, () => distance(normalSubgroups(), studentised) ?? 0);
  };
  const ownSpread = shapeChance(true);
  const isNormal = ownSpread === null || ownSpread >= significance;
  const deviations = subgroups.flatMap(widened);
  const spreadPValue = chance(departure(subgroups), () =>
    departure(isNormal ? normalSubgroups() : dealt(shuffled(deviations, random), sizes)),
  );
  return {
    spreadPValue,
    spreadMethod: `variances of the subgroups against ${isNormal ? 'normal subgroups, simulated' : 'subgroups dealt at random, permutation'}`,
    shapePValue: spreadPValue >= significance ? shapeChance(false) : ownSpread,
  };
}

function deviationsOf(subgroup: readonly number[]): number[] {
  const origin = subgroup[0]!;
  const mean = subgroup.reduce((sum, reading) => sum + (reading - origin), 0) / subgroup.length;
  return subgroup.map((reading) => reading - origin - mean);
}

/** About their own mean deviations are too small by √(1 − 1/n). */
function widened(subgroup: readonly number[]): number[] {
  const factor = Math.sqrt(subgroup.length / (subgroup.length - 1));
  return deviationsOf(subgroup).map((deviation) => deviation * factor);
}

const varianceOf = (subgroup: readonly number[]) =>
  deviationsOf(subgroup).reduce((sum, deviation) => sum + deviation ** 2, 0) / (subgroup.length - 1);

/** Σ (n − 1)(s²/s̄² − 1)² over the subgroups, s̄² being the pooled variance. */
function departure(subgroups: readonly (readonly number[])[]): number {
  const variances = subgroups.map(varianceOf);
  let freedom = 0;
  let pooled = 0;
  subgroups.forEach(({ length }, place) => {
    freedom += length - 1;
    pooled += (length - 1) * variances[place]!;
  });
  pooled /= freedom;
  return subgroups.reduce(
    (sum, { length }, place) => sum + (length - 1) * (variances[place]! / pooled - 1) ** 2,
    0,
  );
}

/** A² of all deviations together, in their own unit or in standard deviations of their subgroup; null for too few. */
function distance(subgroups: readonly (readonly number[])[], studentised: boolean): number | null {
  const values = subgroups.flatMap((subgroup) => {
    if (!studentised) return widened(subgroup);
    const spread = Math.sqrt(varianceOf(subgroup));
    // Two readings lie one standard deviation apart whatever their shape.
    return subgroup.length >= 3 && spread > 0 ? widened(subgroup).map((one) => one / spread) : [];
  });
  const test = andersonDarling(values);
  return test.available ? test.statistic : null;
}

/** In random order (Fisher and Yates). */
function shuffled(values: readonly number[], random: RandomSource): number[] {
  const mixed = [...values];
  for (let place = mixed.length - 1; place > 0; place--) {
    const other = Math.floor(random.uniform() * (place + 1));
    [mixed[place], mixed[other]] = [mixed[other]!, mixed[place]!];
  }
  return mixed;
}

/** Cut into subgroups of these sizes. */
function dealt(values: readonly number[], sizes: readonly number[]): readonly (readonly number[])[] {
  let start = 0;
  return sizes.map((size) => {
    start += size;
    return values.slice(start - size, start);
  });
}
