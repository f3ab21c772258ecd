/** How the cases of autocorrelation are worked out. */
import type { Outcome } from '../../src/errors.ts';
import {
  autocorrelations,
  falseAlarmsUnderAutocorrelation,
  fitAutoregression,
  residualChart,
} from '../../src/index.ts';
import type { CaseHandlers } from './run-cases.ts';

function available<T>(outcome: Outcome<T>): T {
  if (!outcome.available) throw new Error(outcome.message);
  return outcome;
}

/** Keyed by inputs.kind. */
export const autocorrelationHandlers: CaseHandlers = {
  lags: ({ values, lags }) => {
    const computed = available(autocorrelations(values, { lags })).lags;
    return {
      correlations: computed.map(({ correlation }) => correlation),
      expected: computed.map(({ expected }) => expected),
      standardErrors: computed.map(({ standardError }) => standardError),
      pValues: computed.map(({ pValue }) => pValue),
    };
  },
  fit: ({ values }) => {
    const chart = available(residualChart(values));
    return {
      ...available(fitAutoregression(values)),
      residuals: chart.points.map(({ value }) => value),
      signals: chart.signals,
    };
  },
  falseAlarms: ({ coefficient, multiple }) => falseAlarmsUnderAutocorrelation(coefficient, { multiple }),
};
