/** The twenty things that go wrong in the demo plant, as data. The generator applies them; nothing else does. */
import type { Place, StreamKey } from './baselines.ts';
import { characteristicIds, streamId } from './baselines.ts';
import { indexOf, sampleTime, timeOf } from './calendar.ts';

/** Both ends included. */
interface Window {
  readonly from: number;
  readonly to: number;
}

/** One way in which a stream departs from its baseline. */
export type Effect =
  /** The readings move by an amount, in the unit of the characteristic. */
  | { readonly kind: 'shift'; readonly target: StreamKey; readonly window: Window; readonly amount: number }
  /** A coil lot has this effect instead of its random one. */
  | {
      readonly kind: 'lot-effect';
      readonly target: StreamKey;
      readonly window: Window;
      readonly lot: number;
      readonly value: number;
    }
  /** The level climbs from one value to another: on the log-odds scale for C3, on the log scale for C2. */
  | {
      readonly kind: 'ramp';
      readonly target: StreamKey;
      readonly window: Window;
      readonly start: number;
      readonly end: number;
    }
  | {
      readonly kind: 'multiply';
      readonly target: StreamKey;
      readonly window: Window;
      readonly factor: number;
    }
  | {
      readonly kind: 'standard-deviation';
      readonly target: StreamKey;
      readonly window: Window;
      readonly value: number;
    }
  | {
      readonly kind: 'rim-temperature';
      readonly target: StreamKey;
      readonly window: Window;
      readonly value: number;
    }
  | {
      readonly kind: 'third-amplitude';
      readonly target: StreamKey;
      readonly window: Window;
      readonly mean: number;
      readonly standardDeviation: number;
    }
  /** Strokes since regrind start again from zero at the beginning of the window. */
  | { readonly kind: 'strokes-reset'; readonly target: StreamKey; readonly window: Window }
  /** Somebody invented the values instead of measuring. */
  | {
      readonly kind: 'invented-values';
      readonly target: StreamKey;
      readonly window: Window;
      readonly values: readonly number[];
      readonly entrySeconds: number;
    }
  /** A piece of another model lay among those measured. `position` is 0-based. */
  | {
      readonly kind: 'other-model-piece';
      readonly target: StreamKey;
      readonly window: Window;
      readonly position: number;
      readonly model: 'Q10' | 'Q12' | 'Q12W';
    }
  /** The gauge showed `value` for the piece, the person typed `typed`. */
  | {
      readonly kind: 'typed-wrongly';
      readonly target: StreamKey;
      readonly window: Window;
      readonly position: number;
      readonly value: number;
      readonly typed: number;
    }
  | { readonly kind: 'not-sampled'; readonly target: StreamKey; readonly window: Window }
  /** The setter moves the machine by minus the last deviation of the mean from nominal. */
  | { readonly kind: 'over-adjustment'; readonly target: StreamKey; readonly window: Window }
  /** The check standard is read once more or not at all at a start of shift; the deviation it shows. */
  | {
      readonly kind: 'check-standard';
      readonly target: StreamKey;
      readonly window: Window;
      readonly reading: number | null;
    }
  /** Somebody asks for limits from a baseline that hides a change. */
  | {
      readonly kind: 'limits-request';
      readonly target: StreamKey;
      readonly window: Window;
      readonly baseline: Window;
    }
  | {
      readonly kind: 'gauge-study';
      readonly target: StreamKey;
      readonly window: Window;
      readonly parts: number;
      readonly people: number;
      readonly repeats: number;
      readonly partStandardDeviation: number;
      readonly personStandardDeviation: number;
      readonly repeatStandardDeviation: number;
    };

export interface PlantedEvent {
  readonly id: string;
  readonly title: string;
  /** Where, for people. */
  readonly where: string;
  /** The cause, as the person who finds it writes it down. */
  readonly truth: string;
  readonly mustFind: string;
  /** now: the tool is expected to find it. later: it belongs to a calculation that does not exist yet. */
  readonly expectedFrom: 'now' | 'later';
  readonly effects: readonly Effect[];
}

const stream = (id: string): StreamKey => {
  const [characteristic, place] = id.split('-') as [StreamKey['characteristic'], Place];
  return { characteristic, place };
};

/** From sample k of one day to sample k of another. */
const samples = (fromDay: number, fromK: number, toDay: number, toK: number): Window => ({
  from: sampleTime(indexOf(fromDay, fromK)),
  to: sampleTime(indexOf(toDay, toK)),
});
const sample = (day: number, k: number): Window => samples(day, k, day, k);
const times = (fromDay: number, from: string, toDay: number, to: string): Window => ({
  from: timeOf(fromDay, from),
  to: timeOf(toDay, to),
});
const moment = (day: number, time: string): Window => times(day, time, day, time);

const notSampled = (places: readonly Place[], window: Window): Effect[] =>
  characteristicIds.flatMap((characteristic) =>
    places
      .filter((place) =>
        characteristic === 'C7' || characteristic === 'C12'
          ? place.startsWith('A') && place.length === 2
          : place.startsWith('R') && Number(characteristic.slice(1)) <= 6,
      )
      .map((place): Effect => ({ kind: 'not-sampled', target: { characteristic, place }, window })),
  );

const lot10 = times(9, '14:00', 10, '10:00');
const weldWear = samples(23, 1, 26, 8);
const driftingTape = samples(12, 9, 13, 8);

export const plantedEvents: readonly PlantedEvent[] = [
  {
    id: 'E1',
    title: 'Punch wear',
    where: 'C8 and C9, lanes A and B',
    truth: 'The pierce punch wears with its strokes; it was reground on day 18 at 06:00.',
    mustFind: 'Burr median 0.085 at 114.6 thousand strokes: next regrind due on day 45 about 07:36',
    expectedFrom: 'later',
    effects: ['C8-A', 'C8-B', 'C9-A', 'C9-B'].map((id) => ({
      kind: 'strokes-reset',
      target: stream(id),
      window: moment(18, '06:00'),
    })),
  },
  {
    id: 'E2',
    title: 'Thick, hard coil',
    where: 'C1 and C5 on R1, C12 on A1',
    truth: 'Coil lot R1-10 is thicker and springs back more.',
    mustFind: 'C5 within 4 samples; later one incident with cause coil, which survives the changeover',
    expectedFrom: 'now',
    effects: [
      { kind: 'lot-effect', target: stream('C1-R1'), window: lot10, lot: 10, value: 0.06 },
      { kind: 'shift', target: stream('C5-R1'), window: lot10, amount: 0.27 },
      { kind: 'shift', target: stream('C12-A1'), window: lot10, amount: -0.12 },
    ],
  },
  {
    id: 'E3',
    title: 'Electrode wear',
    where: 'C2 and C3 on R2',
    truth: 'The weld electrodes on R2 wore; they were dressed on day 26 at 14:00.',
    mustFind: 'C2 by an EWMA of the logarithm within 29 samples, C3 by a CUSUM within 37',
    expectedFrom: 'later',
    effects: [
      { kind: 'ramp', target: stream('C3-R2'), window: weldWear, start: 0.003, end: 0.015 },
      { kind: 'ramp', target: stream('C2-R2'), window: weldWear, start: 0.08, end: 0.13 },
    ],
  },
  {
    id: 'E4',
    title: 'Tape reads long',
    where: 'C4 on R1',
    truth: 'The tape of R1 read 0.45 mm long; the check standard showed it at the start of shift on day 13.',
    mustFind: 'Verdict "gauge": both models shift, but C5, C6 and R2 do not',
    expectedFrom: 'later',
    effects: [
      { kind: 'shift', target: stream('C4-R1'), window: driftingTape, amount: 0.45 },
      { kind: 'check-standard', target: stream('C4-R1'), window: moment(12, '14:05'), reading: null },
      { kind: 'check-standard', target: stream('C4-R1'), window: moment(13, '06:05'), reading: 0.46 },
    ],
  },
  {
    id: 'E5',
    title: 'A wheel of another model',
    where: 'C12 on A1',
    truth: 'A Q12 wheel lay among the Q10 wheels; the value is right.',
    mustFind: 'The value matches the nominal of Q12; it is no typing error',
    expectedFrom: 'now',
    effects: [
      {
        kind: 'other-model-piece',
        target: stream('C12-A1'),
        window: sample(20, 4),
        position: 2,
        model: 'Q12',
      },
    ],
  },
  {
    id: 'E6',
    title: 'Two digits swapped',
    where: 'C4 on R2',
    truth: 'Typing error: 951.52 for 955.12.',
    mustFind: 'Digit swap',
    expectedFrom: 'now',
    effects: [
      {
        kind: 'typed-wrongly',
        target: stream('C4-R2'),
        window: sample(5, 6),
        position: 0,
        value: 955.12,
        typed: 951.52,
      },
    ],
  },
  {
    id: 'E7',
    title: 'Decimal mark lost',
    where: 'C5 on R1',
    truth: 'Typing error: 1271 for 127.1.',
    mustFind: 'Lost decimal',
    expectedFrom: 'now',
    effects: [
      {
        kind: 'typed-wrongly',
        target: stream('C5-R1'),
        window: sample(11, 3),
        position: 0,
        value: 127.1,
        typed: 1271,
      },
    ],
  },
  {
    id: 'E8',
    title: 'Inch for millimetre',
    where: 'C9, lane A',
    truth: 'The bore gauge stood on inch: 3.152 in is 80.061 mm.',
    mustFind: 'Inch',
    expectedFrom: 'now',
    effects: [
      {
        kind: 'typed-wrongly',
        target: stream('C9-A'),
        window: sample(15, 12),
        position: 1,
        value: 80.061,
        typed: 3.152,
      },
    ],
  },
  {
    id: 'E9',
    title: 'Invented values',
    where: 'C7 on A2',
    truth: 'Five values entered in twelve seconds, all of them 0.34 to 0.36: not measured.',
    mustFind: 'Each of the six samples: a spread this small has chance 2.5e-5',
    expectedFrom: 'later',
    effects: [
      {
        kind: 'invented-values',
        target: stream('C7-A2'),
        window: samples(16, 11, 16, 16),
        values: [0.34, 0.35, 0.36],
        entrySeconds: 12,
      },
    ],
  },
  {
    id: 'E10',
    title: 'Roll wear',
    where: 'C5 on R2',
    truth: 'The forming rolls of R2 wore; they were changed on day 32 at 06:00.',
    mustFind: 'EWMA within 8 samples; change-point at d27k1, give or take 2, in retrospect',
    expectedFrom: 'later',
    effects: [{ kind: 'shift', target: stream('C5-R2'), window: samples(27, 1, 31, 16), amount: 0.144 }],
  },
  {
    id: 'E11',
    title: 'Limits that would hide a shift',
    where: 'C5 on R2',
    truth: 'Somebody asked for limits from days 27 to 30, which hold the roll wear.',
    mustFind: 'Refuse: the baseline has shifted by 0.8 standard deviations',
    expectedFrom: 'later',
    effects: [
      {
        kind: 'limits-request',
        target: stream('C5-R2'),
        window: moment(30, '15:00'),
        baseline: times(27, '06:00', 30, '15:00'),
      },
    ],
  },
  {
    id: 'E12',
    title: 'Loose pilot after regrind',
    where: 'C10, lane A',
    truth: 'The pilot of lane A was loose after the regrind; it was tightened on day 19 after sample 8.',
    mustFind: 'The restart test on 5 discs rejects: burr improved, position worse',
    expectedFrom: 'later',
    effects: [
      {
        kind: 'standard-deviation',
        target: stream('C10-A'),
        window: times(18, '06:00', 19, '13:30'),
        value: 0.075,
      },
    ],
  },
  {
    id: 'E13',
    title: 'Chipped insert',
    where: 'C8, lane B',
    truth: 'The pierce insert of lane B chipped; a new one went in on day 30 at 13:05.',
    mustFind: 'At d30k5; 904 discs of lane B suspect, 18 % of them bad',
    expectedFrom: 'now',
    effects: [
      { kind: 'multiply', target: stream('C8-B'), window: times(30, '10:10', 30, '13:05'), factor: 2.2 },
      { kind: 'strokes-reset', target: stream('C8-B'), window: moment(30, '13:05') },
    ],
  },
  {
    id: 'E14',
    title: 'Lubrication failed',
    where: 'C11, lane A',
    truth: 'A lubrication nozzle of lane A was blocked from 16:10 to 19:40.',
    mustFind: 'Within 3 samples, on lane A only',
    expectedFrom: 'now',
    effects: [
      { kind: 'shift', target: stream('C11-A'), window: times(22, '16:10', 22, '19:40'), amount: -0.09 },
    ],
  },
  {
    id: 'E15',
    title: 'Lanes differ',
    where: 'C9, lane B',
    truth: 'Lane B pierces 0.018 mm wider than lane A.',
    mustFind: 'The difference within 6 samples; indices lane by lane',
    expectedFrom: 'later',
    effects: [
      { kind: 'shift', target: stream('C9-B'), window: times(1, '06:00', 42, '22:00'), amount: 0.018 },
    ],
  },
  {
    id: 'E16',
    title: 'Warm rims',
    where: 'C4 on R2',
    truth: 'The rims were 45 °C when they were measured; the tape reads them long.',
    mustFind: 'Raw +0.275, corrected nothing',
    expectedFrom: 'later',
    effects: [{ kind: 'rim-temperature', target: stream('C4-R2'), window: samples(36, 1, 36, 8), value: 45 }],
  },
  {
    id: 'E17',
    title: 'Samples skipped',
    where: 'everything on R2 and A2',
    truth: 'No samples were taken while the line ran.',
    mustFind: 'Three misses on each stream; 1,240 wheels between checks',
    expectedFrom: 'now',
    effects: notSampled(['R2', 'A2'], samples(38, 10, 38, 12)),
  },
  {
    id: 'E18',
    title: 'Over-adjustment',
    where: 'C12 on A2',
    truth: 'The setter followed every sample, and so doubled the variance of the means.',
    mustFind: 'Correlation of successive means about -0.5, variance of means doubled',
    expectedFrom: 'later',
    effects: [{ kind: 'over-adjustment', target: stream('C12-A2'), window: samples(39, 1, 41, 16) }],
  },
  {
    id: 'E19',
    title: 'Third harmonic',
    where: 'C6 on R2',
    truth: 'One of three clamp jaws sat askew.',
    mustFind: 'The third harmonic on the first sample; mean runout rises by only 0.05',
    expectedFrom: 'later',
    effects: [
      {
        kind: 'third-amplitude',
        target: stream('C6-R2'),
        window: samples(33, 1, 34, 16),
        mean: 0.06,
        standardDeviation: 0.012,
      },
    ],
  },
  {
    id: 'E20',
    title: 'Study of the tape',
    where: 'C4',
    truth: 'Ten rims, three people, three readings each.',
    mustFind: '32 % of the total variation, 14.6 % of the tolerance: two honest answers',
    expectedFrom: 'later',
    effects: [
      {
        kind: 'gauge-study',
        target: stream('C4-R1'),
        window: moment(2, '10:00'),
        parts: 10,
        people: 3,
        repeats: 3,
        partStandardDeviation: 0.17,
        personStandardDeviation: 0.03,
        repeatStandardDeviation: 0.05,
      },
    ],
  },
];

/** Effects on one stream, of a list of planted events. */
export function effectsOn(key: StreamKey, events: readonly PlantedEvent[]): readonly Effect[] {
  const id = streamId(key);
  return events.flatMap(({ effects }) => effects.filter(({ target }) => streamId(target) === id));
}

export type EffectOf<K extends Effect['kind']> = Extract<Effect, { kind: K }>;

export const effectsOfKind = <K extends Effect['kind']>(
  effects: readonly Effect[],
  kind: K,
): readonly EffectOf<K>[] => effects.filter((effect): effect is EffectOf<K> => effect.kind === kind);
