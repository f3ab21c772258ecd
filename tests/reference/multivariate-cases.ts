/** How the cases of multivariate and control-charts-multivariate are worked out. */
import type { Outcome } from '../../src/errors.ts';
import {
  type MultivariateStandard,
  mewmaChart,
  multivariateStandard,
  tSquaredChart,
  tSquaredContributions,
  tSquaredLimits,
  tSquaredSubgroupChart,
} from '../../src/index.ts';
import type { CaseHandlers } from './run-cases.ts';

function available<T>(outcome: Outcome<T>): T {
  if (!outcome.available) throw new Error(outcome.message);
  return outcome;
}

const valuesOf = ({ points }: { points: readonly { value: number | null }[] }) =>
  points.map(({ value }) => value);
const limitOf = ({
  points,
}: {
  points: readonly { limits: { upperControlLimit: number | null } | null }[];
}) => points[0]!.limits!.upperControlLimit;

/** Keyed by inputs.kind. */
export const multivariateHandlers: CaseHandlers = {
  individuals: ({ data, newObservations, alpha: falseAlarmProbability }) => {
    const first = available(tSquaredChart(data, { falseAlarmProbability }));
    const differences = available(tSquaredChart(data, { covariance: 'successive-differences' }));
    const { standard } = first.basis;
    const second = available(tSquaredChart(newObservations, { standard, falseAlarmProbability }));
    return {
      mean: standard.mean,
      covariance: standard.covariance,
      covarianceSuccessiveDifferences: differences.basis.standard.covariance,
      T2: valuesOf(first),
      T2SuccessiveDifferences: valuesOf(differences),
      phase1Limit: limitOf(first),
      phase2Limit: limitOf(second),
      phase1Out: first.signals,
      phase2: newObservations.map((observation: number[]) => {
        const { tSquared, characteristics } = available(tSquaredContributions(observation, standard));
        return {
          T2: tSquared,
          conditional: characteristics.map(({ conditional }) => conditional),
          unconditional: characteristics.map(({ unconditional }) => unconditional),
        };
      }),
      phase2Out: second.signals,
    };
  },
  subgroups: ({ data, alpha: falseAlarmProbability }) => {
    const first = available(tSquaredSubgroupChart(data, { falseAlarmProbability }));
    const { standard } = first.basis;
    return {
      mean: standard.mean,
      covariance: standard.covariance,
      T2: valuesOf(first),
      phase1Limit: limitOf(first),
      phase2Limit: limitOf(available(tSquaredSubgroupChart(data, { standard, falseAlarmProbability }))),
      phase1Out: first.signals,
    };
  },
  mewma: ({ data, mean, covariance, lambda, exactCovariance, limit }) => {
    const standard: MultivariateStandard = {
      mean,
      covariance,
      samplesUsed: null,
      subgroupSize: 1,
      method: 'given',
    };
    const chart = available(
      mewmaChart(data, {
        standard,
        smoothing: lambda,
        upperControlLimit: limit,
        limits: exactCovariance ? 'time-varying' : 'asymptotic',
      }),
    );
    return { T2: valuesOf(chart), z: chart.vectors, signals: chart.signals };
  },
};

/** Keyed by id. */
export const publishedMultivariateHandlers: CaseHandlers = {
  'mean-vector-and-covariance-matrix': ({ observations }) => {
    const { mean, covariance } = available(multivariateStandard(observations));
    return { meanVector: mean, covarianceMatrix: covariance };
  },
  'hotelling-t2-phase1-subgroup-limit': ({ numberOfVariables, numberOfSubgroups, subgroupSize, alpha }) => {
    const { upperControlLimit } = available(
      tSquaredLimits({
        characteristics: numberOfVariables,
        samplesUsed: numberOfSubgroups,
        subgroupSize,
        phase: 'first',
        falseAlarmProbability: alpha,
      }),
    );
    return {
      phase1UpperControlLimit: upperControlLimit,
      phase1UpperControlLimitFullPrecision: upperControlLimit,
    };
  },
};
