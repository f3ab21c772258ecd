/** What is measured to watch the gauges themselves: check standards, the tape study, and the restart discs. */
import {
  beadSeat,
  boltHole,
  checkStandard,
  gaugeDecimals,
  nominalOf,
  type StreamKey,
  sampleSizes,
  streamId,
} from './baselines.ts';
import { dayOfOrdinal, modelOn, PRODUCTION_DAYS, timeOf } from './calendar.ts';
import { type GenerateOptions, substreamOf } from './generate-stream.ts';
import { effectsOfKind, effectsOn } from './planted-events.ts';

const round = (value: number, decimals: number): number => Number(value.toFixed(decimals));
const shiftStarts = ['06:05', '14:05'] as const;

export interface CheckStandardReading {
  readonly at: number;
  /** Deviation from the certified length, in millimetres; null: the check was skipped. */
  readonly reading: number | null;
}

/** The check standard of one tape at the start of every shift. */
export function checkStandardReadings(
  key: StreamKey,
  { seed, events }: GenerateOptions,
): readonly CheckStandardReading[] {
  const planted = effectsOfKind(effectsOn(key, events), 'check-standard');
  return Array.from({ length: PRODUCTION_DAYS }, (_, ordinal) => ordinal).flatMap((ordinal) =>
    shiftStarts.map((start, shift) => {
      const at = timeOf(dayOfOrdinal(ordinal), start);
      const draw = substreamOf(key, seed, 'gauge', 2 * ordinal + shift).normal();
      const special = planted.find(({ window }) => window.from === at);
      return {
        at,
        reading: special
          ? special.reading
          : round(checkStandard.standardDeviation * draw, checkStandard.decimals),
      };
    }),
  );
}

export interface GaugeStudyReading {
  readonly part: number;
  readonly person: number;
  readonly repeat: number;
  readonly value: number;
}

/** The planted study of the bead-seat tape: every person measures every part so many times. */
export function gaugeStudy({ seed, events }: GenerateOptions): readonly GaugeStudyReading[] {
  const [planned] = effectsOfKind(
    events.flatMap(({ effects }) => effects),
    'gauge-study',
  );
  if (!planned) return [];
  const { target, parts, people, repeats } = planned;
  const nominal = nominalOf(beadSeat.nominal, modelOn('R1', 2));
  const random = substreamOf(target, seed, 'planted', 0);
  const normals = (count: number, deviation: number) =>
    Array.from({ length: count }, () => deviation * random.normal());
  const partEffects = normals(parts, planned.partStandardDeviation);
  const personEffects = normals(people, planned.personStandardDeviation);
  return partEffects.flatMap((partEffect, part) =>
    personEffects.flatMap((personEffect, person) =>
      normals(repeats, planned.repeatStandardDeviation).map((error, repeat) => ({
        part,
        person,
        repeat,
        value: round(nominal + partEffect + personEffect + error, gaugeDecimals[target.characteristic]),
      })),
    ),
  );
}

const RESTART_DISCS = 5;

/** Bolt-hole coordinates of the discs measured before the press restarts after the regrind. */
export function restartDiscs(
  key: StreamKey,
  { seed, events }: GenerateOptions,
): readonly (readonly { readonly x: number; readonly y: number }[])[] {
  const restart = timeOf(18, '06:00');
  const deviation =
    effectsOfKind(effectsOn(key, events), 'standard-deviation').find(
      ({ window }) => window.from <= restart && restart <= window.to,
    )?.value ?? boltHole.standardDeviation;
  if (key.characteristic !== 'C10') throw new RangeError(`${streamId(key)} has no bolt holes.`);
  const random = substreamOf(key, seed, 'planted', 0);
  return Array.from({ length: RESTART_DISCS }, () =>
    Array.from({ length: sampleSizes.C10 }, () => ({
      x: round(deviation * random.normal(), gaugeDecimals.C10),
      y: round(deviation * random.normal(), gaugeDecimals.C10),
    })),
  );
}
