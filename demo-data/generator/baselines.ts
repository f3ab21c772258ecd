/** What each characteristic of the demo plant does when nothing is wrong. Invented; lengths in millimetres. */
import type { Line, Model } from './calendar.ts';

export const characteristicIds = [
  'C1',
  'C2',
  'C3',
  'C4',
  'C5',
  'C6',
  'C7',
  'C8',
  'C9',
  'C10',
  'C11',
  'C12',
] as const;
export type CharacteristicId = (typeof characteristicIds)[number];

/** Where a stream is measured: a rim line, an assembly cell, or a lane of the two-out die. */
const places = ['R1', 'R2', 'A1', 'A2', 'A', 'B'] as const;
export type Place = (typeof places)[number];

export interface StreamKey {
  readonly characteristic: CharacteristicId;
  readonly place: Place;
}

export const streamId = (key: StreamKey): string => `${key.characteristic}-${key.place}`;
export const characteristicNumber = (id: CharacteristicId): number => characteristicIds.indexOf(id) + 1;
export const placeNumber = (place: Place): number => places.indexOf(place) + 1;
export const lineOfPlace = (place: Place): Line => (place === 'A' || place === 'B' ? 'P1' : place);

const placesOf: Readonly<Record<CharacteristicId, readonly Place[]>> = {
  C1: ['R1', 'R2'],
  C2: ['R1', 'R2'],
  C3: ['R1', 'R2'],
  C4: ['R1', 'R2'],
  C5: ['R1', 'R2'],
  C6: ['R1', 'R2'],
  C7: ['A1', 'A2'],
  C8: ['A', 'B'],
  C9: ['A', 'B'],
  C10: ['A', 'B'],
  C11: ['A', 'B'],
  C12: ['A1', 'A2'],
};

/** The 24 streams. */
export const streamKeys: readonly StreamKey[] = characteristicIds.flatMap((characteristic) =>
  placesOf[characteristic].map((place) => ({ characteristic, place })),
);

/** Readings of one sample; for C3, rims tested in the hour. */
export const sampleSizes: Readonly<Record<CharacteristicId, number>> = {
  C1: 3,
  C2: 3,
  C3: 310,
  C4: 3,
  C5: 5,
  C6: 5,
  C7: 5,
  C8: 3,
  C9: 3,
  C10: 4,
  C11: 2,
  C12: 3,
};

/**
 * Decimals that the gauge shows; every reading is rounded to them. Chosen so that the step is at most a quarter
 * of the within-subgroup standard deviation (C5 and C12 0.01 against 0.18 and 0.15, C9 0.001 against 0.012).
 */
export const gaugeDecimals: Readonly<Record<CharacteristicId, number>> = {
  C1: 3,
  C2: 3,
  C3: 0,
  C4: 2,
  C5: 2,
  C6: 3,
  C7: 2,
  C8: 3,
  C9: 3,
  C10: 3,
  C11: 3,
  C12: 2,
};

export const stripThickness = { nominal: 2.3, lotStandardDeviation: 0.02, standardDeviation: 0.01 };
export const beadHeight = { median: 0.08, logStandardDeviation: 0.3 };
export const weldLeak = { probability: 0.003 };
export const beadSeat = {
  nominal: { Q10: 795.45, Q12: 955.04, Q12W: 955.04 },
  standardDeviation: 0.18,
  /** Per kelvin: a rim warmer than the tape measures too long. */
  expansion: 11.5e-6,
  rimTemperature: { mean: 20, standardDeviation: 1 },
  tapeTemperature: 20,
};
export const rimWidth = { nominal: { Q10: 127.0, Q12: 152.4, Q12W: 190.5 }, standardDeviation: 0.18 };
export const radialRunout = {
  angles: 24,
  /** Rayleigh scales of the amplitudes of harmonics 1 to 3. */
  amplitudeScales: [0.085, 0.055, 0.012],
  weld: { median: 0.05, logStandardDeviation: 0.3 },
  noise: 0.008,
};
export const lateralRunout = { shape: 2.2, scale: 0.4 };
export const burr = { median: 0.03, perThousandStrokes: 0.00048, logStandardDeviation: 0.25 };
export const hubBore = { mean: 80.072, perThousandStrokes: -0.0002, standardDeviation: 0.012 };
export const boltHole = { standardDeviation: 0.045 };
export const discThickness = { mean: 2.62, standardDeviation: 0.035 };
export const offset = { nominal: { Q10: 10.0, Q12: 16.0, Q12W: 22.0 }, standardDeviation: 0.15 };

/** Strokes of the press, in thousands. */
export const strokes = { perHour: 0.31, atStart: 40 };

/** Entering five readings takes a person this long, in seconds. */
export const entrySeconds = { shortest: 60, longest: 120 };

/** The check standard of a tape, read at the start of each shift, as deviation from its certified length. */
export const checkStandard = { standardDeviation: 0.05, decimals: 2 };

export function nominalOf(nominals: Readonly<Record<Exclude<Model, 'DISC'>, number>>, model: Model): number {
  if (model === 'DISC') throw new RangeError('A disc has no such dimension.');
  return nominals[model];
}
