/** What is said after a study suits what was studied: a single run, counted parts, positions. */
import { describe, expect, it } from 'vitest';
import {
  attributeCapability,
  machinePerformance,
  performanceOfParts,
  positionPerformance,
} from '../../../src/index.ts';
import { randomSource } from '../../../src/numerics/random.ts';
import { known } from '../known.ts';

const stability = { points: 25, signals: 0, expectedFalseSignals: 0.2 };
const limits = { lowerSpecificationLimit: 9.9, upperSpecificationLimit: 10.1 };
const values = (count: number, spread: number, seed = 3): number[] => {
  const random = randomSource(seed);
  return Array.from({ length: count }, () => 10 + spread * random.normal());
};

describe('the next step', () => {
  it('after one run of a machine is to begin a control chart, for there is none to keep running', () => {
    const { verdict } = known(machinePerformance(values(100, 0.01), limits));
    expect(verdict.level).toBe('proven');
    expect(verdict.nextStep).toMatch(/^Begin a control chart/);
    const poor = known(machinePerformance(values(100, 0.05), limits)).verdict;
    expect(poor.nextStep).toMatch(/^Reduce the spread/);
  });

  it('with counted parts speaks of parts, not of values that nobody measured', () => {
    const poor = known(attributeCapability({ nonconforming: 5, inspected: 40 }, { stability })).verdict;
    expect(poor.sentence).toContain('from 40 parts');
    expect(poor.nextStep).toBe(
      'Find out what makes parts nonconforming and remove it; until then inspect every part that must be right.',
    );
    const open = known(attributeCapability({ nonconforming: 0, inspected: 40 }, { stability })).verdict;
    expect(open.nextStep).toContain('the parts do not contradict');
  });

  it('with positions speaks of the zone', () => {
    const y = values(50, 0.1, 4);
    const positions = values(50, 0.1).map((x, place) => ({ x: x - 10, y: y[place]! - 10 }));
    const options = { toleranceDiameter: 0.4, resamples: 200, stability };
    const { verdict } = known(positionPerformance(positions, options));
    expect(verdict.sentence).toContain('from 50 positions');
    expect(verdict.nextStep).toMatch(/^Move the mean position to the middle of the zone/);
  });
});

describe('a gauge that is said to vary more than the values do', () => {
  it('is questioned, instead of giving the parts a spread of nothing', () => {
    const gauge = { gaugeStandardDeviation: 0.05, gaugeDegreesOfFreedom: null };
    const result = performanceOfParts(values(50, 0.02), limits, gauge);
    expect(result).toMatchObject({ available: false, reason: 'no-variation' });
    expect(result.available ? '' : result.message).toContain('check its standard deviation');
    expect(result.available ? '' : result.message).not.toMatch(/at most 0\.00/);
  });
});
