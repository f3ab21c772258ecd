import type { VariablesStatistic } from '../charts/control-chart.ts';
import { StatisticsError } from '../errors.ts';
import type { RunRuleName, RunRuleSignal } from './run-rule.ts';

export interface SignalDescription {
  readonly rule: RunRuleName;
  readonly chart: 'location' | 'spread';
  readonly side: RunRuleSignal['side'];
  /** What the chart plots. */
  readonly statistic: VariablesStatistic;
  /** Points in a run on one side, which is a setting of that rule. Default 9. */
  readonly oneSideRunLength?: number;
}

/** One plotted thing and several, in the words of the shop floor. */
const plottedWords: Record<VariablesStatistic, readonly [one: string, several: string]> = {
  mean: ['sample average', 'sample averages'],
  range: ['range inside the sample', 'sample ranges'],
  'standard deviation': ['spread inside the sample', 'sample spreads'],
  'individual value': ['value', 'values'],
  'moving range': ['difference from the value before', 'differences between neighbouring values'],
};

const numberWords = ['', '', '', '', '', '', '', 'seven', 'eight', 'nine'];

/**
 * One plain sentence about a signal: what was seen, and what it usually means for the process.
 *
 * @returns  English, one sentence, no jargon beyond "control limit" and "center line". It names usual causes, not
 *           the cause: people find that.
 * @throws   StatisticsError `unknown-name` (rule or statistic).
 *
 * Source: usual meanings after Western Electric, Statistical Quality Control Handbook, 1956, and Nelson, Journal of
 * Quality Technology 16(4), 1984.
 *
 * @example
 * signalSentence({ rule: 'six-in-a-trend', chart: 'location', side: 'above', statistic: 'mean' });
 * // 'The last six sample averages went up one after the other: something is wearing, warming up or building up.'
 */
export function signalSentence(description: SignalDescription): string {
  const { chart, side, statistic } = description;
  const words = plottedWords[statistic];
  if (words === undefined) throw new StatisticsError('unknown-name', 'description.statistic', statistic);
  const [one, several] = words;
  const up = side === 'above';
  const where = up ? 'above' : 'below';
  const far = chart === 'location' ? (up ? 'up' : 'down') : up ? 'more' : 'less';
  const meaning = (location: string, more: string, less: string) =>
    chart === 'location' ? location : up ? more : less;

  switch (description.rule) {
    case 'one-beyond-three-sigma':
      return `The ${one} is ${where} its ${up ? 'upper' : 'lower'} control limit: ${meaning(
        `something has moved the process ${far}.`,
        'the parts differ more from each other than usual, so something may be loose or one reading wrong.',
        'the parts differ less from each other than usual, so check that the gauge reads freely.',
      )}`;
    case 'two-of-three-beyond-two-sigma':
      return `At least two of the last three ${several} are far ${where} the center line: ${meaning(
        `the process has most likely moved ${far}.`,
        'the process most likely varies more than before.',
        'the process most likely varies less than before, or the gauge does not show it.',
      )}`;
    case 'four-of-five-beyond-one-sigma':
      return `At least four of the last five ${several} are clearly ${where} the center line: ${meaning(
        `the process has most likely moved a little ${far}.`,
        'the process most likely varies a little more than before.',
        'the process most likely varies a little less than before, or the gauge does not show it.',
      )}`;
    case 'run-on-one-side': {
      const length = description.oneSideRunLength ?? 9;
      return `The last ${numberWords[length] ?? length} ${several} are all ${where} the center line: ${meaning(
        `the process has settled ${up ? 'higher' : 'lower'} than before.`,
        'the process has come to vary more than before.',
        'the process has come to vary less than before; find out why and keep it, if the gauge is right.',
      )}`;
    }
    case 'six-in-a-trend':
      return `The last six ${several} went ${up ? 'up' : 'down'} one after the other: ${meaning(
        'something is wearing, warming up or building up.',
        'the process varies more and more, as when something works loose.',
        'the process varies less and less, as when something runs in.',
      )}`;
    case 'fourteen-alternating':
      return `The last fourteen ${several} went up and down in turn: two sources may be taking turns, or somebody corrects the process after every sample.`;
    case 'fifteen-within-one-sigma':
      return `The last fifteen ${several} are unusually close to the center line: the limits may no longer fit, each sample may mix parts from different sources, or the gauge may not show what varies.`;
    case 'eight-outside-one-sigma':
      if (side === 'both')
        return `The last eight ${several} all keep away from the center line, some above and some below: parts from two different settings or sources may be mixed.`;
      return `The last eight ${several} are all clearly ${where} the center line: ${meaning(
        `the process has moved ${far}.`,
        'the process varies more than before.',
        'the process varies less than before, or the gauge does not show it.',
      )}`;
    default:
      throw new StatisticsError('unknown-name', 'description.rule', description.rule);
  }
}
