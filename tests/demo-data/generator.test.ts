import { describe, expect, test } from 'vitest';
import {
  burr,
  type CharacteristicId,
  gaugeDecimals,
  type StreamKey,
  sampleSizes,
  streamId,
  streamKeys,
} from '../../demo-data/generator/baselines.ts';
import {
  dayOfIndex,
  indexOf,
  lotOf,
  modelOn,
  runningHoursUntil,
  SAMPLE_COUNT,
  sampleTime,
  timeOf,
} from '../../demo-data/generator/calendar.ts';
import { checkStandardReadings, gaugeStudy, restartDiscs } from '../../demo-data/generator/gauge-data.ts';
import { generateStream, strokesAt } from '../../demo-data/generator/generate-stream.ts';
import { effectsOn, plantedEvents } from '../../demo-data/generator/planted-events.ts';

const seed = 11;
const options = { seed, events: plantedEvents };
const clean = { seed, events: [] };
const key = (id: string): StreamKey => {
  const [characteristic, place] = id.split('-') as [CharacteristicId, StreamKey['place']];
  return { characteristic, place };
};
const mean = (values: readonly number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;
const variance = (values: readonly number[]) => {
  const center = mean(values);
  return values.reduce((sum, value) => sum + (value - center) ** 2, 0) / (values.length - 1);
};
const readingsOf = (id: string, from = 0, to = SAMPLE_COUNT - 1, which = options) =>
  generateStream(key(id), which)
    .slice(from, to + 1)
    .flatMap(({ readings }) => readings ?? []);

describe('the calendar', () => {
  test('36 production days from Monday 2025-09-01, Sundays idle, fixed distance from UTC', () => {
    expect(new Date(sampleTime(0)).toISOString()).toBe('2025-09-01T04:30:00.000Z');
    expect(new Date(sampleTime(SAMPLE_COUNT - 1)).toISOString()).toBe('2025-10-11T19:30:00.000Z');
    const days = new Set(Array.from({ length: SAMPLE_COUNT }, (_, index) => dayOfIndex(index)));
    expect(days.size).toBe(36);
    expect([7, 14, 21, 28, 35, 42].some((day) => days.has(day))).toBe(false);
    expect(() => indexOf(14, 1)).toThrow(RangeError);
    for (let index = 0; index < SAMPLE_COUNT; index++) {
      expect(new Date(sampleTime(index)).getUTCDay()).not.toBe(0);
      expect(indexOf(dayOfIndex(index), (index % 16) + 1)).toBe(index);
    }
  });

  test('coil lot 10 of R1 runs from d9 14:00 to d10 10:00', () => {
    expect([indexOf(9, 9), indexOf(10, 4)]).toEqual([120, 131]);
    expect([119, 120, 131, 132].map(lotOf)).toEqual([9, 10, 10, 11]);
  });

  test('both lines run Q12 on every third day', () => {
    expect([1, 2, 3, 9, 41].map((day) => modelOn('R1', day))).toEqual(['Q10', 'Q10', 'Q12', 'Q12', 'Q10']);
    expect([1, 3].map((day) => modelOn('A2', day))).toEqual(['Q12W', 'Q12']);
  });

  test('lines stand at night and on Sundays', () => {
    expect(runningHoursUntil(timeOf(1, '06:00'))).toBe(0);
    expect(runningHoursUntil(timeOf(2, '03:00'))).toBe(16);
    expect(runningHoursUntil(timeOf(7, '12:00'))).toBe(96);
    expect(runningHoursUntil(timeOf(8, '06:00'))).toBe(96);
  });
});

describe('samples', () => {
  test('24 streams of 576 samples, as many readings as planned, rounded to the gauge', () => {
    expect(streamKeys.length).toBe(24);
    for (const stream of streamKeys) {
      const samples = generateStream(stream, options);
      expect(samples.length).toBe(576);
      for (const { readings, count } of samples) {
        if (stream.characteristic === 'C3') expect(count?.inspected).toBe(310);
        else {
          expect(readings?.length).toBe(sampleSizes[stream.characteristic]);
          const decimals = gaugeDecimals[stream.characteristic];
          for (const value of readings ?? []) expect(Number(value.toFixed(decimals))).toBe(value);
        }
      }
    }
  });

  test('the same seed gives the same samples, another seed others', () => {
    expect(readingsOf('C6-R1')).toEqual(readingsOf('C6-R1'));
    expect(readingsOf('C6-R1')).not.toEqual(readingsOf('C6-R1', 0, 575, { seed: 12, events: plantedEvents }));
  });

  test('a planted event changes the samples in its window and no other', () => {
    for (const stream of streamKeys) {
      const windows = effectsOn(stream, plantedEvents);
      const plain = generateStream(stream, clean);
      generateStream(stream, options).forEach((sample, index) => {
        const resets = windows.filter(
          ({ kind, window }) => kind === 'strokes-reset' && window.from <= sample.takenAt,
        );
        const touched = windows.some(
          ({ window }) => window.from <= sample.takenAt && sample.takenAt <= window.to,
        );
        if (!touched && resets.length === 0)
          expect(sample, `${streamId(stream)} ${index}`).toEqual(plain[index]);
      });
    }
  });

  test('streams for false alarms are untouched', () => {
    for (const id of ['C7-A1', 'C6-R1', 'C11-B', 'C3-R1'])
      expect(effectsOn(key(id), plantedEvents)).toEqual([]);
  });
});

describe('baselines', () => {
  // Moments from the parameters by textbook formulas; bounds are four standard errors.
  test.each([
    ['C4-R1', 1, 795.45, Math.hypot(0.18, 11.5e-6 * 795.45)],
    ['C5-R1', 1, 127.0, 0.18],
    ['C7-A1', 1, 0.35425, 0.17003], // 0.4 Γ(1 + 1/2.2) and the deviation from Γ(1 + 2/2.2), computed apart
    ['C9-A', 1, 80.072 - 0.0002 * (40 + 0.31 * 8), 0.012],
    ['C11-B', 1, 2.62, 0.035],
    ['C12-A1', 1, 10.0, 0.15],
    ['C10-B', 1, 2 * 0.045 * Math.sqrt(Math.PI / 2), 2 * 0.045 * Math.sqrt(2 - Math.PI / 2)],
    ['C2-R1', 1, 0.08 * Math.exp(0.045), 0.08 * Math.exp(0.045) * Math.sqrt(Math.exp(0.09) - 1)],
  ] as const)('%s, first day of 30 seeds', (id, day, expectedMean, expectedDeviation) => {
    const values = Array.from({ length: 30 }, (_, other) =>
      readingsOf(id, indexOf(day, 1), indexOf(day, 16), { seed: 1000 + other, events: [] }),
    ).flat();
    const error = expectedDeviation / Math.sqrt(values.length);
    expect(Math.abs(mean(values) - expectedMean)).toBeLessThan(4 * error);
    expect(Math.sqrt(variance(values)) / expectedDeviation).toBeCloseTo(1, 1);
  });

  test('C1 moves from lot to lot by 0.020 and inside a lot by 0.010', () => {
    const samples = generateStream(key('C1-R2'), clean);
    const lots = Array.from({ length: 48 }, (_, lot) =>
      samples.slice(12 * lot, 12 * lot + 12).flatMap(({ readings }) => readings ?? []),
    );
    expect(Math.sqrt(mean(lots.map(variance)))).toBeCloseTo(0.01, 3);
    // 47 degrees of freedom: 95 % of estimates within a fifth.
    expect(Math.sqrt(variance(lots.map(mean)))).toBeGreaterThan(0.015);
    expect(Math.sqrt(variance(lots.map(mean)))).toBeLessThan(0.026);
  });

  test('strokes and burr as the specification says', () => {
    const effects = effectsOn(key('C8-A'), plantedEvents);
    expect(strokesAt(timeOf(1, '06:00'), effects)).toBe(40);
    const before = strokesAt(timeOf(17, '22:00'), effects);
    expect(before).toBeCloseTo(114.4, 1);
    expect(burr.median + burr.perThousandStrokes * before).toBeCloseTo(0.085, 3);
    expect(strokesAt(timeOf(18, '06:00'), effects)).toBe(0);
  });
});

describe('planted truths', () => {
  const difference = (id: string, from: number, to: number) => {
    const planted = readingsOf(id, from, to);
    const plain = readingsOf(id, from, to, clean);
    return planted.map((value, position) => value - plain[position]!);
  };

  test('E2: coil lot 10 moves width and offset by what is planted', () => {
    for (const value of difference('C5-R1', 120, 131)) expect(value).toBeCloseTo(0.27, 6);
    for (const value of difference('C12-A1', 120, 131)) expect(value).toBeCloseTo(-0.12, 6);
    const thickness = mean(readingsOf('C1-R1', 120, 131));
    expect(Math.abs(thickness - 2.36)).toBeLessThan((4 * 0.01) / 6);
  });

  test('E3: leak probability and bead median end where the specification says', () => {
    const last = indexOf(26, 8);
    const seeds = Array.from({ length: 100 }, (_, other) => ({ seed: 2000 + other, events: plantedEvents }));
    const at = (id: string, index: number) => seeds.map((which) => generateStream(key(id), which)[index]!);
    const leaks = at('C3-R2', last).map(({ count }) => count!.nonconforming);
    expect(Math.abs(mean(leaks) - 310 * 0.015)).toBeLessThan(4 * Math.sqrt((310 * 0.015) / seeds.length));
    const beads = at('C2-R2', last).flatMap(({ readings }) => readings!.map((value) => Math.log(value)));
    expect(Math.abs(mean(beads) - Math.log(0.13))).toBeLessThan((4 * 0.3) / Math.sqrt(beads.length));
  });

  test('E4: the check standard is skipped once and shows the drift once', () => {
    const checks = checkStandardReadings(key('C4-R1'), options);
    expect(checks.length).toBe(72);
    expect(checks.filter(({ reading }) => reading === null).map(({ at }) => at)).toEqual([
      timeOf(12, '14:05'),
    ]);
    expect(checks.find(({ at }) => at === timeOf(13, '06:05'))?.reading).toBe(0.46);
    expect(checkStandardReadings(key('C4-R2'), options).every(({ reading }) => reading !== null)).toBe(true);
  });

  test('E5: one wheel at the nominal of Q12', () => {
    const sample = generateStream(key('C12-A1'), options)[indexOf(20, 4)]!;
    expect(sample.model).toBe('Q10');
    expect(sample.readings!.map((value) => Math.round(value))).toEqual([10, 10, 16]);
  });

  test.each([
    ['E6', 'C4-R2', indexOf(5, 6), 0, 955.12, 951.52],
    ['E7', 'C5-R1', indexOf(11, 3), 0, 127.1, 1271],
    ['E8', 'C9-A', indexOf(15, 12), 1, 80.061, 3.152],
  ] as const)(
    '%s: what the gauge showed and what was typed',
    (_id, stream, index, position, shown, typed) => {
      const sample = generateStream(key(stream), options)[index]!;
      expect(sample.readings![position]).toBe(shown);
      expect(sample.typed).toEqual([{ position, value: typed }]);
    },
  );

  test('E9: thirty values out of three, each five entered in twelve seconds', () => {
    const samples = generateStream(key('C7-A2'), options).slice(indexOf(16, 11), indexOf(16, 16) + 1);
    expect(
      samples.flatMap(({ readings }) => readings).every((value) => [0.34, 0.35, 0.36].includes(value!)),
    ).toBe(true);
    expect(samples.map((sample) => sample.entrySeconds)).toEqual([12, 12, 12, 12, 12, 12]);
    const usual = generateStream(key('C7-A1'), options).map((sample) => sample.entrySeconds);
    expect(Math.min(...usual)).toBeGreaterThan(60);
    expect(Math.max(...usual)).toBeLessThan(120);
  });

  test('E10 and E14: shifts of the planted size', () => {
    for (const value of difference('C5-R2', indexOf(27, 1), indexOf(31, 16)))
      expect(Math.abs(value - 0.144)).toBeLessThan(0.0101);
    for (const value of difference('C11-A', indexOf(22, 11), indexOf(22, 14)))
      expect(value).toBeCloseTo(-0.09, 6);
    expect(difference('C11-A', indexOf(22, 10), indexOf(22, 10))).toEqual([0, 0]);
  });

  test('E12: holes after the regrind scatter by 0.075, restart discs included', () => {
    const holes = generateStream(key('C10-A'), options)
      .slice(indexOf(18, 1), indexOf(19, 8) + 1)
      .flatMap((sample) => sample.holes ?? [])
      .flatMap(({ x, y }) => [x, y]);
    expect(Math.sqrt(variance(holes))).toBeCloseTo(0.075, 2);
    const many = Array.from({ length: 40 }, (_, other) =>
      restartDiscs(key('C10-A'), { seed: other, events: plantedEvents }),
    ).flat(2);
    expect(Math.sqrt(variance(many.flatMap(({ x, y }) => [x, y])))).toBeCloseTo(0.075, 2);
    const [disc] = restartDiscs(key('C10-B'), options);
    expect(disc?.length).toBe(4);
  });

  test('E13: burr of lane B 2.2 times as high for 904 discs, then a sharp insert', () => {
    const planted = readingsOf('C8-B', indexOf(30, 5), indexOf(30, 7));
    const noChip = plantedEvents.filter(({ id }) => id !== 'E13');
    const plain = readingsOf('C8-B', indexOf(30, 5), indexOf(30, 7), { seed, events: noChip });
    planted.forEach((value, position) => {
      expect(Math.abs(value - 2.2 * plain[position]!)).toBeLessThan(0.0017);
    });
    const hours = runningHoursUntil(timeOf(30, '13:05')) - runningHoursUntil(timeOf(30, '10:10'));
    expect(Math.round(310 * hours)).toBe(904);
    expect(strokesAt(timeOf(30, '13:05'), effectsOn(key('C8-B'), plantedEvents))).toBe(0);
    expect(strokesAt(timeOf(30, '13:05'), effectsOn(key('C9-B'), plantedEvents))).toBeGreaterThan(40);
  });

  test('E16: warm rims read 0.275 long', () => {
    const many = Array.from({ length: 100 }, (_, other) => {
      const window = [indexOf(36, 1), indexOf(36, 8)] as const;
      return (
        mean(readingsOf('C4-R2', ...window, { seed: other, events: plantedEvents })) -
        mean(readingsOf('C4-R2', ...window, { seed: other, events: [] }))
      );
    });
    expect(mean(many)).toBeCloseTo(0.275, 2);
  });

  test('E17: three samples of every stream of R2 and A2 are not there', () => {
    for (const stream of streamKeys) {
      const skipped = generateStream(stream, options).flatMap((sample) =>
        sample.taken ? [] : [sample.index],
      );
      const expected = ['R2', 'A2'].includes(stream.place) ? [9, 10, 11].map((k) => indexOf(38, 1) + k) : [];
      expect(skipped).toEqual(expected);
    }
  });

  test('E18: following every sample doubles the variance of the means and turns them about', () => {
    const nominal = { Q10: 10, Q12: 16, Q12W: 22, DISC: 0 };
    const runs = Array.from({ length: 60 }, (_, other) =>
      generateStream(key('C12-A2'), { seed: other, events: plantedEvents })
        .slice(indexOf(39, 2))
        .map((sample) => mean(sample.readings!) - nominal[sample.model]),
    );
    const ratio = mean(runs.map((means) => mean(means.map((value) => value ** 2)))) / (0.15 ** 2 / 3);
    expect(ratio).toBeGreaterThan(1.9);
    expect(ratio).toBeLessThan(2.1);
    const products = runs.flatMap((means) => means.slice(1).map((value, place) => value * means[place]!));
    expect(mean(products) / ((2 * 0.15 ** 2) / 3)).toBeCloseTo(-0.5, 1);
    const logged = generateStream(key('C12-A2'), options).filter(({ adjustment }) => adjustment !== null);
    expect(logged.length).toBe(48);
  });

  test('E19: mean runout rises by about 0.05', () => {
    const rises = Array.from({ length: 20 }, (_, other) => {
      const window = [indexOf(33, 1), indexOf(34, 16)] as const;
      return (
        mean(readingsOf('C6-R2', ...window, { seed: other, events: plantedEvents })) -
        mean(readingsOf('C6-R2', ...window, { seed: other, events: [] }))
      );
    });
    expect(Math.abs(mean(rises) - 0.05)).toBeLessThan(0.01);
  });

  test('E20: ninety readings with the planted components', () => {
    const spreads = Array.from({ length: 200 }, (_, other) => {
      const study = gaugeStudy({ seed: other, events: plantedEvents });
      expect(study.length).toBe(90);
      const cells = Array.from({ length: 10 }, (_unused, part) =>
        Array.from({ length: 3 }, (_also, person) =>
          study
            .filter((reading) => reading.part === part && reading.person === person)
            .map(({ value }) => value),
        ),
      );
      return {
        repeat: mean(cells.flat().map(variance)),
        parts: variance(cells.map((people) => mean(people.flat()))),
      };
    });
    // Expected mean squares: repeat 0.05²; part means 0.17² + 0.05²/9. Bounds are four standard errors.
    const ratio = (found: readonly number[], expected: number) => Math.abs(mean(found) / expected - 1);
    expect(
      ratio(
        spreads.map(({ repeat }) => repeat),
        0.05 ** 2,
      ),
    ).toBeLessThan(4 * Math.sqrt(2 / (200 * 60)));
    expect(
      ratio(
        spreads.map(({ parts }) => parts),
        0.17 ** 2 + 0.05 ** 2 / 9,
      ),
    ).toBeLessThan(4 * Math.sqrt(2 / (200 * 9)));
  });

  test('all twenty are there, and each says whether it is expected now', () => {
    expect(plantedEvents.map(({ id }) => id)).toEqual(
      Array.from({ length: 20 }, (_, number) => `E${number + 1}`),
    );
    expect(plantedEvents.filter(({ expectedFrom }) => expectedFrom === 'now').map(({ id }) => id)).toEqual([
      'E2',
      'E5',
      'E6',
      'E7',
      'E8',
      'E13',
      'E14',
      'E17',
    ]);
  });
});
