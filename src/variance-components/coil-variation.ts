import { requireFraction } from '../checks.ts';
import type { Outcome } from '../errors.ts';
import { normalUpperTail } from '../numerics/normal.ts';
import { allFaces, fitNested } from './nested-likelihood-components.ts';
import { type NestedReadings, nestedCells, percentOf } from './nested-readings.ts';

export interface CoilVariationOptions {
  /** Coils count as different where chance alone would show as much less often than this. Default 0.05. */
  readonly significance?: number;
}

/** How much of the variation is coil and how much is inside it; standard deviations in the unit of the readings. */
export interface CoilVariation {
  readonly method: 'restricted maximum likelihood';
  readonly coils: number;
  readonly hours: number;
  readonly readings: number;
  readonly coilStandardDeviation: number;
  /** Hours and pieces together. */
  readonly insideCoilStandardDeviation: number;
  readonly hourStandardDeviation: number;
  readonly pieceStandardDeviation: number;
  /** Shares of the variance, in percent. */
  readonly coilPercent: number;
  readonly insideCoilPercent: number;
  /** Chance of so much coil variation where coils add none; approximate with few coils. */
  readonly pValue: number;
  readonly verdict: 'coils' | 'both' | 'inside-coils' | 'no-coil-difference';
  /** What to do next, and why, in one sentence. */
  readonly message: string;
}

/** Below this many coils the coil share is a rough figure, and the sentence says so. */
const fewCoils = 8;

/**
 * Does the level move from coil to coil, or inside the coil? For a characteristic such as strip thickness, whose level
 * changes with each coil although nothing is wrong: the answer decides where to look for the cause and from which
 * variation the limits for means are drawn.
 *
 * @param coils    coils[coil][hour] = pieces, one unit, as in nestedLikelihoodComponents.
 * @param options  significance, between 0 and 1.
 * @returns        variation of coils and inside them with a test of "coils add nothing" (restricted likelihood ratio
 *                 against the mixture ½χ²₀ + ½χ²₁, approximate) and one sentence. Verdict: `coils` from two thirds of the
 *                 variance, `inside-coils` up to one third, `both` between, `no-coil-difference` where the test shows
 *                 none. Unavailable as nestedLikelihoodComponents.
 * @throws         StatisticsError `empty`, `not-finite` (names the reading), `out-of-range`.
 *
 * Source: components as nestedLikelihoodComponents; test after Self and Liang, Journal of the American Statistical
 * Association 82, 1987, case 5 (cited from memory); the thirds are common practice, no source.
 *
 * @example
 * coilVariation([
 *   [[2.301, 2.305], [2.304, 2.299]], [[2.332, 2.338], [2.335, 2.333]],
 *   [[2.281, 2.284], [2.279, 2.286]], [[2.312, 2.31], [2.315, 2.308]],
 * ]);
 * // available, verdict "coils", coilPercent 98.24…
 */
export function coilVariation(
  coils: NestedReadings,
  { significance = 0.05 }: CoilVariationOptions = {},
): Outcome<CoilVariation> {
  requireFraction(significance, 'options.significance');
  const cells = nestedCells(coils);
  const fit = fitNested(cells);
  if (!fit.available) return fit;
  const without = fitNested(
    cells,
    allFaces.filter(([coilFree]) => !coilFree),
  );
  if (!without.available) return without;

  const { coil, hour, piece } = fit.components;
  const percent = percentOf(fit.components);
  const ratio = without.deviance - fit.deviance;
  const pValue = coil === 0 || ratio <= 0 ? 1 : normalUpperTail(Math.sqrt(ratio));
  const verdict =
    pValue >= significance
      ? 'no-coil-difference'
      : percent.coil >= 200 / 3
        ? 'coils'
        : percent.coil <= 100 / 3
          ? 'inside-coils'
          : 'both';
  const coilStandardDeviation = Math.sqrt(coil);
  const insideCoilStandardDeviation = Math.sqrt(hour + piece);
  const result = {
    coils: cells.coils.length,
    hours: cells.hours,
    readings: cells.readings,
    coilStandardDeviation,
    insideCoilStandardDeviation,
    hourStandardDeviation: Math.sqrt(hour),
    pieceStandardDeviation: Math.sqrt(piece),
    coilPercent: percent.coil,
    insideCoilPercent: percent.hour + percent.piece,
    pValue,
  };
  return {
    available: true,
    method: 'restricted maximum likelihood',
    ...result,
    verdict,
    message: sentence(verdict, result, hour >= piece),
  };
}

function sentence(
  verdict: CoilVariation['verdict'],
  found: Pick<
    CoilVariation,
    'coils' | 'coilStandardDeviation' | 'insideCoilStandardDeviation' | 'coilPercent'
  >,
  hoursLead: boolean,
): string {
  const rough = found.coils < fewCoils ? ` (rough: only ${found.coils} coils)` : '';
  const inside = hoursLead ? 'what changes from hour to hour' : 'what differs from piece to piece';
  const figures = `${Math.round(found.coilPercent)} % of the variance${rough} lies between coils (standard deviation ${short(found.coilStandardDeviation)} against ${short(found.insideCoilStandardDeviation)} inside them)`;
  switch (verdict) {
    case 'coils':
      return `${figures}: draw the limits for means from the movement between coils, and compare coil certificates before anyone adjusts the line.`;
    case 'both':
      return `${figures}: draw the limits for means from the movement between coils, and look both at the coils and at ${inside}.`;
    case 'inside-coils':
      return `Only ${figures}: look first at ${inside}, the coils come second.`;
    case 'no-coil-difference':
      return `No difference between the ${found.coils} coils is shown: look at ${inside}, and measure more coils before ruling the coil out.`;
  }
}

const short = (value: number) => String(Number(value.toPrecision(2)));
