import { describe, expect, it } from 'vitest';
import { cusumRunLength, ewmaRunLength, expectedFalseAlarms, type WatchedChart } from '../../../src/index.ts';

const limitsAlone: WatchedChart = {
  scheme: { kind: 'run-rules', rules: ['one-beyond-three-sigma'] },
  samplesPerHour: 2,
  hoursPerWeek: 80,
};

describe('expected false alarms a week', () => {
  it('are samples over average run lengths, added up', () => {
    const budget = expectedFalseAlarms([
      { ...limitsAlone, streams: 3 },
      { scheme: { kind: 'ewma', smoothing: 0.1, multiple: 2.7 }, samplesPerHour: 1, hoursPerWeek: 100 },
      { scheme: { kind: 'cusum' }, samplesPerHour: 0.5, hoursPerWeek: 168 },
    ]);
    const [a, b, c] = budget.byChart;
    // Montgomery: 370.4 samples between false alarms.
    expect(a!.averageRunLength).toBeCloseTo(370.3983, 4);
    expect(a!.alarmsPerWeek).toBeCloseTo((2 * 80 * 3) / 370.3983, 5);
    const ewma = ewmaRunLength({ smoothing: 0.1, multiple: 2.7 });
    const cusum = cusumRunLength();
    expect(ewma.available && b!.averageRunLength! / ewma.averageRunLength).toBeCloseTo(1, 12);
    expect(cusum.available && c!.alarmsPerWeek * cusum.averageRunLength).toBeCloseTo(84, 9);
    expect(budget.alarmsPerWeek).toBeCloseTo(a!.alarmsPerWeek + b!.alarmsPerWeek + c!.alarmsPerWeek, 12);
    expect(budget.charts).toBe(5);
  });

  it.each([
    [1, 1, 'With nothing wrong, this chart gives about one false alarm every 4.6 weeks.'],
    [24, 1, 'With nothing wrong, these 24 charts give about 5.2 false alarms a week.'],
    [4, 1.2, 'With nothing wrong, these 4 charts give about 1 false alarm a week.'],
    [60, 1, 'With nothing wrong, these 60 charts give about 13 false alarms a week.'],
    [
      1,
      10,
      'With nothing wrong, this chart gives about 2.2 false alarms a week. Use fewer rules or wider limits, or people will stop answering.',
    ],
    [1, 0.001, 'With nothing wrong, this chart gives a false alarm less than once in ten years.'],
  ])('are told in a sentence (%d streams, %d samples an hour)', (streams, samplesPerHour, message) => {
    const chart = { ...limitsAlone, streams, samplesPerHour };
    expect(expectedFalseAlarms([chart]).message).toBe(message);
  });

  it('are none for a chart that never signals', () => {
    const budget = expectedFalseAlarms([{ ...limitsAlone, scheme: { kind: 'run-rules', rules: [] } }]);
    expect(budget).toEqual({
      alarmsPerWeek: 0,
      charts: 1,
      byChart: [{ averageRunLength: null, alarmsPerWeek: 0 }],
      message: 'With nothing wrong, this chart gives practically no false alarms.',
    });
  });

  it.each([
    [{ samplesPerHour: 0 }, 'out-of-range', 'charts.1.samplesPerHour'],
    [{ samplesPerHour: 2e6 }, 'out-of-range', 'charts.1.samplesPerHour'],
    [{ hoursPerWeek: 169 }, 'out-of-range', 'charts.1.hoursPerWeek'],
    [{ hoursPerWeek: 0 }, 'out-of-range', 'charts.1.hoursPerWeek'],
    [{ streams: 1.5 }, 'not-an-integer', 'charts.1.streams'],
    [{ scheme: { kind: 'ewma', smoothing: 2 } }, 'out-of-range', 'charts.1.scheme.smoothing'],
    [{ scheme: { kind: 'cusum', headStart: 2 } }, 'out-of-range', 'charts.1.scheme.headStart'],
    [{ scheme: { kind: 'none' } }, 'unknown-name', 'charts.1.scheme.kind'],
  ])('refuse %o', (wrong, code, argument) => {
    const charts = [limitsAlone, { ...limitsAlone, ...wrong }] as WatchedChart[];
    expect(() => expectedFalseAlarms(charts)).toThrow(expect.objectContaining({ code, argument }));
  });

  it('say the rule once in an error', () => {
    const charts = [{ ...limitsAlone, scheme: { kind: 'ewma', smoothing: 2 } as const }];
    expect(() => expectedFalseAlarms(charts)).toThrow(
      /^charts\.0\.scheme\.smoothing: Choose a number from 0\.01 to 1\.$/,
    );
  });

  it('need a chart, and not too many', () => {
    expect(() => expectedFalseAlarms([])).toThrow(expect.objectContaining({ code: 'empty' }));
    expect(() => expectedFalseAlarms(Array(1001).fill(limitsAlone))).toThrow(
      expect.objectContaining({ code: 'out-of-range', argument: 'charts' }),
    );
  });
});
