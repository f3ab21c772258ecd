/** How the cases of run-length, run-lengths, sampling-design and economic-design are worked out. */
import {
  cusumDecisionInterval,
  cusumRunLength,
  economicDesign,
  ewmaRunLength,
  type RunRuleName,
  runRulesRunLength,
  type SamplingCosts,
  sampleSizeForDetection,
  samplingCost,
  shewhartRunLength,
  shiftWithinInterval,
  timeToSignal,
} from '../../src/index.ts';
import type { CaseHandlers } from './run-cases.ts';

function needed<T extends { readonly available: boolean }>(outcome: T): Extract<T, { available: true }> {
  if (!outcome.available) throw new Error(JSON.stringify(outcome));
  return outcome as Extract<T, { available: true }>;
}

const moments = (outcome: ReturnType<typeof runRulesRunLength>) => {
  const { averageRunLength, standardDeviation } = needed(outcome);
  return { arl: averageRunLength, sdrl: standardDeviation };
};

const ruleNames: Readonly<Record<string, RunRuleName>> = {
  '1of1Beyond3': 'one-beyond-three-sigma',
  '2of3Beyond2': 'two-of-three-beyond-two-sigma',
  '4of5Beyond1': 'four-of-five-beyond-one-sigma',
  '7inRowOneSide': 'run-on-one-side',
  '8inRowOneSide': 'run-on-one-side',
  '9inRowOneSide': 'run-on-one-side',
  '15Within1': 'fifteen-within-one-sigma',
  '8Outside1': 'eight-outside-one-sigma',
};

function ruleSettings(rules: readonly string[]) {
  const oneSide = rules.find((rule) => rule.endsWith('inRowOneSide'));
  return {
    rules: rules.map((rule) => ruleNames[rule]!),
    ...(oneSide ? { oneSideRunLength: Number(oneSide[0]) as 7 | 8 | 9 } : {}),
  };
}

/**
 * Fifteen values within one standard deviation, with chance p each: the mean is (1 − p¹⁵) / ((1 − p) p¹⁵) (Feller, An
 * Introduction to Probability Theory and Its Applications, volume 1, XIII.7). From a shift of 2 on the file has what
 * rounding leaves of a linear system that is singular to working precision, a negative mean among it; the mean from
 * the formula is checked in tests/src/run-length/run-rules-run-length.test.ts.
 */
const singular = {
  leftOut:
    'the figure is rounding: 1327935929658, 4.79e17 and 4.62e24 are right for 15Within1 at shifts of 2, 2.5 and 3',
};

/** Keyed by inputs.kind, and the three figures that are wrong by id. */
export const runLengthHandlers: CaseHandlers = {
  'rules-8-d2': singular,
  'rules-8-d2.5': singular,
  'rules-8-d3': singular,
  shewhart: ({ limitSigma, shift }) => {
    const result = needed(shewhartRunLength({ multiple: limitSigma }, { shift }));
    return { signalProbability: result.signalProbability, ...moments(result) };
  },
  rules: ({ rules, shift }) => moments(runRulesRunLength(ruleSettings(rules), { shift })),
  ewma: ({ lambda, limitSigma, limitType, shift }) =>
    moments(
      ewmaRunLength(
        {
          smoothing: lambda,
          multiple: limitSigma,
          limits: limitType === 'asymptotic' ? 'asymptotic' : 'time-varying',
        },
        { shift },
      ),
    ),
  cusum: ({ sides, referenceValue, decisionInterval, headStart, shift }) =>
    moments(
      cusumRunLength(
        {
          sides: sides === 2 ? 'both' : 'upper',
          referenceValue,
          decisionInterval,
          headStart: headStart / decisionInterval,
        },
        { shift },
      ),
    ),
};

const printed = (
  shifts: readonly number[],
  averageAt: (shift: number) => ReturnType<typeof runRulesRunLength>,
) => shifts.map((shift) => needed(averageAt(shift)).averageRunLength);

/** Tolerances in words are checked here: each printed figure within half a unit of its last digit, or as stated. */
function within(
  found: readonly number[],
  expected: { averageRunLength: number[]; recomputed: number[] },
  allowed: (wanted: number, place: number) => number,
) {
  return {
    averageRunLength: expected.averageRunLength.map((wanted, place) =>
      Math.abs(found[place]! - wanted) <= allowed(wanted, place) ? wanted : found[place]!,
    ),
    recomputed: found,
  };
}

const champWoodall: CaseHandlers[string] = ({ rules, shiftsInSigmaOfStatistic }) => {
  const numbered: RunRuleName[] = [
    'one-beyond-three-sigma',
    'two-of-three-beyond-two-sigma',
    'four-of-five-beyond-one-sigma',
    'run-on-one-side',
  ];
  const settings = {
    rules: rules.map((rule: number) => numbered[rule - 1]!),
    oneSideRunLength: 8,
  } as const;
  return {
    averageRunLength: printed(shiftsInSigmaOfStatistic, (shift) => runRulesRunLength(settings, { shift })),
  };
};

const lucasSaccucci: CaseHandlers[string] = ({ lambda, limitMultiplier, shifts }, expected) =>
  within(
    printed(shifts, (shift) =>
      ewmaRunLength({ smoothing: lambda, multiple: limitMultiplier, limits: 'asymptotic' }, { shift }),
    ),
    expected,
    (wanted) => Math.max(0.1, 0.005 * wanted),
  );

const halfUnit = (wanted: number) => {
  const decimals = String(wanted).split('.')[1]?.length ?? 0;
  return 0.5 * 10 ** -decimals + 1e-9;
};

const lucasCrosier =
  (allowed: (wanted: number, shift: number) => number): CaseHandlers[string] =>
  ({ referenceValue, decisionInterval, headStart = 0, shifts }, expected) =>
    within(
      printed(shifts, (shift) =>
        cusumRunLength(
          { referenceValue, decisionInterval, headStart: headStart / decisionInterval },
          { shift },
        ),
      ),
      expected,
      (wanted, place) => allowed(wanted, shifts[place]),
    );

/** Keyed by id. */
export const runLengthsHandlers: CaseHandlers = {
  'shewhart-rules-1': champWoodall,
  'shewhart-rules-1-2': champWoodall,
  'shewhart-rules-1-2-3-4': champWoodall,
  'ewma-lambda-0.4': lucasSaccucci,
  'ewma-lambda-0.25': lucasSaccucci,
  'ewma-lambda-0.1': lucasSaccucci,
  'cusum-two-sided-h4': lucasCrosier(halfUnit),
  'cusum-fir-two-sided-h4': lucasCrosier((wanted, shift) => (shift === 3 ? 0.011 : halfUnit(wanted))),
  'cusum-one-sided-in-control': ({ referenceValue, decisionIntervals }) => ({
    averageRunLength: Object.fromEntries(
      decisionIntervals.map((decisionInterval: number) => [
        decisionInterval,
        needed(cusumRunLength({ referenceValue, decisionInterval, sides: 'upper' })).averageRunLength,
      ]),
    ),
  }),
  'cusum-design-arl-370-a': ({ targetAverageRunLength, referenceValues }, expected) => ({
    decisionInterval: Object.fromEntries(
      Object.keys(expected.decisionInterval).map((key) => [
        key,
        needed(cusumDecisionInterval(targetAverageRunLength, { referenceValue: Number(key) }))
          .decisionInterval,
      ]),
    ),
    averageRunLengthAtPrintedH: Object.fromEntries(
      referenceValues.map((referenceValue: number) => {
        const key = referenceValue === 1 ? '1.0' : String(referenceValue);
        const decisionInterval = expected.decisionInterval[key];
        return [key, needed(cusumRunLength({ referenceValue, decisionInterval })).averageRunLength];
      }),
    ),
  }),
  'shewhart-shift-row': ({ limits, shifts }) => ({
    averageRunLength: printed(shifts, (shift) => shewhartRunLength({ multiple: limits }, { shift })),
  }),
};

/** Keyed by inputs.kind. */
export const samplingDesignHandlers: CaseHandlers = {
  scheme: ({ limitSigma, delta, sampleSize, intervalHours, ratePerHour, delayHours }) => {
    const result = needed(
      timeToSignal({
        multiple: limitSigma,
        shift: delta,
        sampleSize,
        intervalHours,
        partsPerHour: ratePerHour,
        delayHours,
      }),
    );
    return {
      detectionProbability: result.detectionProbability,
      falseAlarmProbability: result.falseAlarmProbability,
      arl: result.averageRunLength,
      arl0: result.averageRunLengthInControl,
      ats: result.averageHoursToSignal,
      atsSd: result.standardDeviationOfHours,
      hoursBetweenFalseAlarms: result.hoursBetweenFalseAlarms,
      partsBetweenShiftAndSignal: result.partsBetweenShiftAndSignal,
      probabilityDetectedWithinSamples: result.detectedWithin.map(({ probability }) => probability),
    };
  },
  designFor: ({ delta, limitSigma, targetProbability }) =>
    needed(sampleSizeForDetection(delta, { probability: targetProbability, multiple: limitSigma })),
  shiftWithinInterval: ({ lambda, intervalHours }) => ({
    tau: shiftWithinInterval(intervalHours, { shiftsPerHour: lambda }),
  }),
  lorenzenVance: ({ parameters, sampleSize, intervalHours, limitSigma }) =>
    samplingCost({ sampleSize, intervalHours, multiple: limitSigma }, costsOf(parameters)),
  lorenzenVanceOptimum: ({ parameters, nMin, nMax, hGrid, LGrid }) => {
    const { multiple, refined, ...design } = economicDesign(costsOf(parameters), {
      sampleSizes: grid({ from: nMin, to: nMax, step: 1 }),
      intervalsHours: grid(hGrid),
      multiples: grid(LGrid),
    });
    return { ...design, limitSigma: multiple, refined: { ...refined, limitSigma: refined.multiple } };
  },
};

/** Keyed by id. */
export const economicDesignHandlers: CaseHandlers = {
  'xbar-glass-bottles-a': ({ designs, ...inputs }) => ({
    designs: designs.map(
      (design: { sampleSize: number; limitMultiplier: number; samplingIntervalHours: number }) => {
        const { sampleSize, limitMultiplier: multiple, samplingIntervalHours: intervalHours } = design;
        const { costPerHour } = samplingCost({ sampleSize, intervalHours, multiple }, glassBottles(inputs));
        return {
          sampleSize,
          ...chances(inputs.shiftInSigma, sampleSize, multiple),
          hourlyCostPrinted: costPerHour,
          hourlyCostRecomputed: costPerHour,
        };
      },
    ),
  }),
  'xbar-glass-bottles-optimum': (inputs) => {
    const { sampleSize, refined } = economicDesign(glassBottles(inputs));
    return {
      sampleSize,
      limitMultiplier: refined.multiple,
      samplingIntervalHours: refined.intervalHours,
      hourlyCost: refined.costPerHour,
      ...chances(inputs.shiftInSigma, sampleSize, refined.multiple),
    };
  },
};

function chances(shift: number, sampleSize: number, multiple: number) {
  const result = needed(timeToSignal({ shift, sampleSize, multiple, intervalHours: 1, partsPerHour: 1 }));
  return { alpha: result.falseAlarmProbability, power: result.detectionProbability };
}

/** Letters of Lorenzen and Vance. */
function costsOf(letters: Readonly<Record<string, number>>): SamplingCosts {
  return {
    shift: letters.delta!,
    shiftsPerHour: letters.lambda!,
    costPerHourInControl: letters.C0!,
    costPerHourShifted: letters.C1!,
    costPerFalseAlarm: letters.Y!,
    costPerRepair: letters.W!,
    costPerSample: letters.a!,
    costPerPart: letters.b!,
    hoursPerPart: letters.E!,
    hoursPerFalseAlarm: letters.T0!,
    hoursToFind: letters.T1!,
    hoursToRepair: letters.T2!,
    runsDuringSearch: letters.d1 === 1,
    runsDuringRepair: letters.d2 === 1,
  };
}

/** The process is not stopped while people search. */
function glassBottles(inputs: Readonly<Record<string, number>>): SamplingCosts {
  return {
    shift: inputs.shiftInSigma!,
    shiftsPerHour: inputs.assignableCauseRatePerHour!,
    costPerHourInControl: 0,
    costPerHourShifted: inputs.hourlyPenaltyOutOfControl!,
    costPerFalseAlarm: inputs.costOfFalseAlarm!,
    costPerRepair: inputs.costOfFindingAssignableCause!,
    costPerSample: inputs.sampleFixedCost!,
    costPerPart: inputs.sampleUnitCost!,
    hoursPerPart: inputs.timePerUnitSampledHours!,
    hoursPerFalseAlarm: 0,
    hoursToFind: inputs.timeToFindCauseHours!,
    hoursToRepair: 0,
    runsDuringSearch: true,
    runsDuringRepair: true,
  };
}

function grid({ from, to, step }: { from: number; to: number; step: number }): number[] {
  const count = Math.round((to - from) / step) + 1;
  return Array.from({ length: count }, (_, place) => Number((from + place * step).toFixed(6)));
}
