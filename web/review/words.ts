/** The words and marks of Review. */
import type { EventKind } from '../../api/schemas.ts';
import type { ChartKind } from '../../src/charts/control-chart.ts';
import type { RunRuleName } from '../../src/run-rules/run-rule.ts';

/** Each rule by what it sees. */
export const ruleWords: Record<RunRuleName, string> = {
  'one-beyond-three-sigma': 'a point outside the control limits',
  'two-of-three-beyond-two-sigma': 'two of three points far out on one side',
  'four-of-five-beyond-one-sigma': 'four of five points away from the center on one side',
  'run-on-one-side': 'a long run on one side of the center line',
  'six-in-a-trend': 'six points in a row rising or falling',
  'fourteen-alternating': 'fourteen points alternating up and down',
  'fifteen-within-one-sigma': 'fifteen points close to the center line',
  'eight-outside-one-sigma': 'eight points in a row none of them near the center line',
};

interface ChartNames {
  readonly location: string;
  readonly spread: string;
  readonly locationValue: string;
  readonly spreadValue: string;
}

export const chartNames: Record<ChartKind, ChartNames> = {
  'mean-range': {
    location: 'Chart of means',
    spread: 'Chart of ranges',
    locationValue: 'mean',
    spreadValue: 'range',
  },
  'mean-standard-deviation': {
    location: 'Chart of means',
    spread: 'Chart of standard deviations',
    locationValue: 'mean',
    spreadValue: 'standard deviation',
  },
  'individuals-moving-range': {
    location: 'Chart of individual values',
    spread: 'Chart of moving ranges',
    locationValue: 'value',
    spreadValue: 'moving range',
  },
};

export const eventSymbols: Record<EventKind, string> = {
  changeover: '⇄',
  'tool change': '◆',
  regrind: '◇',
  coil: '◎',
  adjustment: '△',
  stoppage: '■',
  'gauge check': '✓',
  note: '•',
};

export const capitalised = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);
