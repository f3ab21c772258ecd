import { describe, expect, it } from 'vitest';
import {
  economicDesign,
  type SamplingCosts,
  samplingCost,
  shiftWithinInterval,
  timeToSignal,
} from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';

const costs: SamplingCosts = {
  shift: 1.5,
  shiftsPerHour: 0.02,
  costPerHourInControl: 10,
  costPerHourShifted: 300,
  costPerFalseAlarm: 80,
  costPerRepair: 150,
  costPerSample: 2,
  costPerPart: 0.5,
  hoursPerPart: 0.05,
  hoursPerFalseAlarm: 0.5,
  hoursToFind: 0.7,
  hoursToRepair: 1.2,
  runsDuringSearch: false,
  runsDuringRepair: false,
};
const design = { sampleSize: 4, intervalHours: 1, multiple: 2.5 };

describe('cost of a way to sample', () => {
  it('is what simulated cycles cost', () => {
    // Everything that happens from one start in control to the next, counted.
    const { uniform, normal } = randomSource(5);
    const cycles = 20_000;
    const cost = new Float64Array(cycles);
    const hours = new Float64Array(cycles);
    for (let cycle = 0; cycle < cycles; cycle++) {
      const shiftAt = -Math.log(uniform()) / costs.shiftsPerHour;
      const before = Math.floor(shiftAt / design.intervalHours);
      let falseAlarms = 0;
      for (let sample = 0; sample < before; sample++) if (Math.abs(normal()) > 2.5) falseAlarms++;
      let seenAt = (before + 1) * design.intervalHours;
      while (Math.abs(2 * 1.5 + normal()) <= 2.5) seenAt += design.intervalHours;
      const running = seenAt + 4 * 0.05;
      hours[cycle] = running + falseAlarms * 0.5 + 0.7 + 1.2;
      cost[cycle] =
        10 * shiftAt + 300 * (running - shiftAt) + 80 * falseAlarms + 150 + ((2 + 0.5 * 4) / 1) * running;
    }
    const mean = (values: Float64Array) => values.reduce((sum, value) => sum + value, 0) / cycles;
    const ratio = mean(cost) / mean(hours);
    // Standard error of a ratio of means (Cochran, Sampling Techniques, section 2.11).
    const rest = cost.map((value, cycle) => value - ratio * hours[cycle]!);
    const error = Math.sqrt(rest.reduce((sum, value) => sum + value ** 2, 0)) / cycles / mean(hours);
    const { costPerHour, cycleHours } = samplingCost(design, costs);
    expect(Math.abs(costPerHour - ratio)).toBeLessThan(4 * error);
    expect(Math.abs(cycleHours / mean(hours) - 1)).toBeLessThan(4 / Math.sqrt(cycles));
  });

  it('grows with every cost, and a cycle with every hour', () => {
    const now = samplingCost(design, costs);
    for (const name of [
      'costPerHourInControl',
      'costPerHourShifted',
      'costPerFalseAlarm',
      'costPerRepair',
      'costPerSample',
      'costPerPart',
    ] as const)
      expect(samplingCost(design, { ...costs, [name]: costs[name] + 1 }).costPerHour).toBeGreaterThan(
        now.costPerHour,
      );
    for (const name of ['hoursPerPart', 'hoursPerFalseAlarm', 'hoursToFind', 'hoursToRepair'] as const)
      expect(samplingCost(design, { ...costs, [name]: costs[name] + 1 }).cycleHours).toBeGreaterThan(
        now.cycleHours,
      );
  });

  it('does not change when the currency does, and is the cycle of its parts', () => {
    const scaled = { ...costs };
    for (const name of Object.keys(costs) as (keyof SamplingCosts)[])
      if (name.startsWith('cost')) Object.assign(scaled, { [name]: 7 * (costs[name] as number) });
    const now = samplingCost(design, costs);
    expect(samplingCost(design, scaled).costPerHour / now.costPerHour).toBeCloseTo(7, 12);
    const signal = timeToSignal({ shift: 1.5, partsPerHour: 1, ...design });
    if (!signal.available) throw new Error(signal.message);
    const unseen = signal.averageRunLength - shiftWithinInterval(1, { shiftsPerHour: 0.02 }) + 0.2;
    const falseAlarms = signal.falseAlarmProbability / (Math.exp(0.02) - 1);
    expect(now.cycleHours).toBeCloseTo(50 + unseen + 0.7 + 1.2 + 0.5 * falseAlarms, 10);
    expect(samplingCost(design, { ...costs, runsDuringSearch: true }).cycleHours).toBeCloseTo(
      50 + unseen + 0.7 + 1.2,
      10,
    );
  });

  it.each([
    [{ sampleSize: 0 }, {}, 'design.sampleSize'],
    [{ intervalHours: 0 }, {}, 'design.intervalHours'],
    [{ multiple: 11 }, {}, 'design.multiple'],
    [{}, { shift: 30 }, 'options.shift'],
    [{}, { shiftsPerHour: 0 }, 'options.shiftsPerHour'],
    [{}, { costPerPart: -1 }, 'options.costPerPart'],
    [{}, { hoursToFind: 1e5 }, 'options.hoursToFind'],
  ])('refuses %o %o', (wrong, wrongCosts, argument) => {
    expect(() => samplingCost({ ...design, ...wrong }, { ...costs, ...wrongCosts })).toThrow(
      expect.objectContaining({ code: 'out-of-range', argument }),
    );
  });
});

describe('the cheapest way to sample', () => {
  const choices = { sampleSizes: [6, 2, 3], intervalsHours: [2, 0.5, 1], multiples: [3, 2, 2.5] };

  it('costs no more than any that was offered, and the refined one no more than it', () => {
    const best = economicDesign(costs, choices);
    for (const sampleSize of choices.sampleSizes)
      for (const intervalHours of choices.intervalsHours)
        for (const multiple of choices.multiples)
          expect(best.costPerHour).toBeLessThanOrEqual(
            samplingCost({ sampleSize, intervalHours, multiple }, costs).costPerHour,
          );
    expect(samplingCost(best, costs).costPerHour).toBe(best.costPerHour);
    expect(best.refined.costPerHour).toBeLessThan(best.costPerHour);
    const { intervalHours, multiple } = best.refined;
    const at = (hours: number, limits: number) =>
      samplingCost({ sampleSize: best.sampleSize, intervalHours: hours, multiple: limits }, costs)
        .costPerHour;
    expect(at(intervalHours, multiple)).toBeCloseTo(best.refined.costPerHour, 10);
    for (const [hours, limits] of [
      [1.01, 1],
      [0.99, 1],
      [1, 1.01],
      [1, 0.99],
    ] as const)
      expect(at(intervalHours * hours, multiple * limits)).toBeGreaterThan(best.refined.costPerHour);
  });

  it('does not depend on the order of the choices; ties go to the smallest', () => {
    const turned = {
      sampleSizes: [2, 3, 6],
      intervalsHours: [0.5, 1, 2],
      multiples: [2, 2.5, 3],
    };
    expect(economicDesign(costs, turned)).toEqual(economicDesign(costs, choices));
    const free = {
      ...costs,
      costPerHourInControl: 0,
      costPerHourShifted: 0,
      costPerFalseAlarm: 0,
      costPerRepair: 0,
      costPerSample: 0,
      costPerPart: 0,
    };
    expect(economicDesign(free, choices)).toMatchObject({
      sampleSize: 2,
      intervalHours: 0.5,
      multiple: 2,
      costPerHour: 0,
      refined: { intervalHours: 0.5, multiple: 2, costPerHour: 0 },
    });
  });

  it.each([
    [{ sampleSizes: [] }, 'empty', 'options.sampleSizes'],
    [{ sampleSizes: [1, 1.5] }, 'not-an-integer', 'options.sampleSizes.1'],
    [{ intervalsHours: [0] }, 'out-of-range', 'options.intervalsHours.0'],
    [{ multiples: [3, 11] }, 'out-of-range', 'options.multiples.1'],
    [{ multiples: Array(1001).fill(3) }, 'out-of-range', 'options.multiples.length'],
    [
      { sampleSizes: Array(1000).fill(1), intervalsHours: Array(1000).fill(1), multiples: [2, 3] },
      'out-of-range',
      'options',
    ],
  ])('refuses choices', (wrong, code, argument) => {
    expect(() => economicDesign(costs, wrong)).toThrow(expect.objectContaining({ code, argument }));
  });
});
