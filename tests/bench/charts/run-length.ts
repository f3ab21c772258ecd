/** Run lengths, which have to follow a slider. */
import {
  cusumDecisionInterval,
  cusumRunLength,
  ewmaMultiple,
  ewmaRunLength,
  expectedFalseAlarms,
  runRuleNames,
  runRulesMultiple,
  runRulesRunLength,
} from '../../../src/index.ts';
import type { TimedCalculation } from './chart-bench.ts';

const fourRules = runRuleNames.slice(0, 4);
const zoneRules = runRuleNames.filter((name) => name !== 'six-in-a-trend' && name !== 'fourteen-alternating');

export const timed: readonly TimedCalculation[] = [
  { name: 'run length, four run rules', run: () => runRulesRunLength({ rules: fourRules }, { shift: 0.5 }) },
  {
    name: 'run length, six rules on zones',
    run: () => runRulesRunLength({ rules: zoneRules }, { shift: 0.5 }),
  },
  {
    name: 'run length, limits and trend',
    run: () => runRulesRunLength({ rules: [runRuleNames[0], runRuleNames[4]] }),
  },
  {
    name: 'run length, all eight run rules',
    run: () => runRulesRunLength({ rules: runRuleNames }, { shift: 0.5 }),
  },
  { name: 'run length, EWMA λ = 0.05', run: () => ewmaRunLength({ smoothing: 0.05, multiple: 2.6 }) },
  {
    name: 'run length, EWMA λ = 0.2',
    run: () => ewmaRunLength({ smoothing: 0.2, multiple: 2.86 }, { shift: 0.5 }),
  },
  { name: 'run length, CUSUM h = 5, head start', run: () => cusumRunLength({ headStart: 0.5 }) },
  {
    name: 'run length, CUSUM k = 0.25, h = 8',
    run: () => cusumRunLength({ referenceValue: 0.25, decisionInterval: 8 }, { shift: 0.5 }),
  },
  { name: 'limits for a run length, four run rules', run: () => runRulesMultiple(100, { rules: fourRules }) },
  { name: 'limits for a run length, EWMA λ = 0.1', run: () => ewmaMultiple(370, { smoothing: 0.1 }) },
  {
    name: 'interval for a run length, CUSUM',
    run: () => cusumDecisionInterval(370, { referenceValue: 0.5 }),
  },
  {
    name: 'false alarms a week, 24 charts',
    run: () =>
      expectedFalseAlarms(
        Array.from({ length: 24 }, (_, place) => ({
          scheme: place % 2 ? { kind: 'cusum' as const } : { kind: 'run-rules' as const, rules: fourRules },
          samplesPerHour: 1,
          hoursPerWeek: 96,
        })),
      ),
  },
];
