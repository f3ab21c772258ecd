import { requireBetween, requirePositive, requireWhole } from '../checks.ts';
import { StatisticsError } from '../errors.ts';
import { type ChartScheme, chartRunLength } from './chart-run-length.ts';

/** One chart, or several alike. */
export interface WatchedChart {
  /** Run rules, EWMA or CUSUM, with their settings. */
  readonly scheme: ChartScheme;
  /** Samples an hour on each stream while it runs, above 0, at most 10⁶. */
  readonly samplesPerHour: number;
  /** Hours a week that it runs, above 0, at most 168. */
  readonly hoursPerWeek: number;
  /** Streams with a chart of this kind, whole, 1 … 10⁶. Default 1. */
  readonly streams?: number;
}

export interface FalseAlarmBudget {
  /** Expected number a week over all charts. */
  readonly alarmsPerWeek: number;
  /** Charts in all. */
  readonly charts: number;
  readonly byChart: readonly {
    /** Samples between false alarms of one chart; null where it practically never signals. */
    readonly averageRunLength: number | null;
    /** Expected number a week over its streams. */
    readonly alarmsPerWeek: number;
  }[];
  /** One sentence for the person who has to answer the alarms. */
  readonly message: string;
}

/**
 * How many false alarms a set of charts gives in a week with nothing wrong: samples taken over average run length in
 * control, added up. Each chart begins anew after an alarm. For independent normal values and known limits; limits
 * from few samples and skewed values give more.
 *
 * @param charts  1 … 1000 entries.
 * @returns       expected numbers, dimensionless, and a sentence.
 * @throws        StatisticsError `empty`, `not-finite`, `not-an-integer`, `out-of-range`, `unknown-name`; the argument
 *                names the entry.
 *
 * Source: renewal argument on the average run length in control; ISO 7870-1 (false alarms), run lengths as in
 * runRulesRunLength, ewmaRunLength and cusumRunLength.
 *
 * @example
 * expectedFalseAlarms([{ scheme: { kind: 'run-rules', rules: ['one-beyond-three-sigma'] }, samplesPerHour: 1, hoursPerWeek: 96, streams: 24 }]);
 * // alarmsPerWeek 6.220…, charts 24, byChart[0].averageRunLength 370.39…
 */
export function expectedFalseAlarms(charts: readonly WatchedChart[]): FalseAlarmBudget {
  if (charts.length === 0) throw new StatisticsError('empty', 'charts', charts);
  if (charts.length > 1000)
    throw new StatisticsError(
      'out-of-range',
      'charts',
      charts.length,
      'At most 1000 entries; use streams for charts alike.',
    );
  const byChart = charts.map((chart, index) => {
    const { samplesPerHour, hoursPerWeek, streams = 1 } = chart;
    requirePositive(samplesPerHour, `charts.${index}.samplesPerHour`);
    requireBetween(samplesPerHour, 0, 1e6, `charts.${index}.samplesPerHour`);
    requirePositive(hoursPerWeek, `charts.${index}.hoursPerWeek`);
    requireBetween(hoursPerWeek, 0, 168, `charts.${index}.hoursPerWeek`);
    requireWhole(streams, 1, 1e6, `charts.${index}.streams`);
    const averageRunLength = inControl(chart.scheme, `charts.${index}.scheme`);
    const alarmsPerWeek =
      averageRunLength === null ? 0 : (samplesPerHour * hoursPerWeek * streams) / averageRunLength;
    return { averageRunLength, alarmsPerWeek };
  });
  const alarmsPerWeek = byChart.reduce((sum, chart) => sum + chart.alarmsPerWeek, 0);
  const count = charts.reduce((sum, { streams = 1 }) => sum + streams, 0);
  return { alarmsPerWeek, charts: count, byChart, message: sentence(alarmsPerWeek, count) };
}

function inControl(scheme: ChartScheme, argument: string): number | null {
  try {
    const found = chartRunLength(scheme, { probabilities: [] });
    return found.available ? found.averageRunLength : null;
  } catch (error) {
    if (!(error instanceof StatisticsError)) throw error;
    const place = error.argument.replace('settings', argument);
    throw new StatisticsError(error.code, place, error.value, error.message.slice(error.argument.length + 2));
  }
}

function sentence(alarmsPerWeek: number, charts: number): string {
  const given = charts === 1 ? 'this chart gives' : `these ${charts} charts give`;
  const start = `With nothing wrong, ${given}`;
  if (alarmsPerWeek === 0) return `${start} practically no false alarms.`;
  if (alarmsPerWeek < 0.75) {
    const weeks = 1 / alarmsPerWeek;
    if (weeks > 520) return `${start} a false alarm less than once in ten years.`;
    return `${start} about one false alarm every ${rounded(weeks)} weeks.`;
  }
  const wide =
    alarmsPerWeek / charts > 1 ? ' Use fewer rules or wider limits, or people will stop answering.' : '';
  const number = rounded(alarmsPerWeek);
  return `${start} about ${number} false ${number === '1' ? 'alarm' : 'alarms'} a week.${wide}`;
}

/** Two digits, whole from ten on. */
function rounded(value: number): string {
  return value < 9.95 ? String(Math.round(value * 10) / 10) : String(Math.round(value));
}
