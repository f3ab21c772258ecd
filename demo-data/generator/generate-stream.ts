/** Every sample of one stream of the demo plant: a pure function of the seed and the planted events. */
import {
  beadHeight,
  beadSeat,
  boltHole,
  burr,
  characteristicNumber,
  discThickness,
  entrySeconds,
  gaugeDecimals,
  hubBore,
  lateralRunout,
  lineOfPlace,
  nominalOf,
  offset,
  placeNumber,
  radialRunout,
  rimWidth,
  type StreamKey,
  sampleSizes,
  stripThickness,
  strokes,
  weldLeak,
} from './baselines.ts';
import {
  dayOfIndex,
  lotName,
  lotOf,
  type Model,
  modelOn,
  runningHoursUntil,
  SAMPLE_COUNT,
  sampleTime,
} from './calendar.ts';
import { type Effect, type EffectOf, effectsOfKind, effectsOn, type PlantedEvent } from './planted-events.ts';
import { Substream, type SubstreamKey } from './random.ts';

export interface GeneratedSample {
  readonly index: number;
  readonly takenAt: number;
  readonly model: Model;
  readonly lot: string;
  /** How long the person needed to enter it. */
  readonly entrySeconds: number;
  /** What the gauge showed, in millimetres; null for counted parts. */
  readonly readings: readonly number[] | null;
  readonly count: { readonly inspected: number; readonly nonconforming: number } | null;
  /** Where the person typed something else than the gauge showed. */
  readonly typed: readonly { readonly position: number; readonly value: number }[];
  /** false: the sample was skipped. */
  readonly taken: boolean;
  /** What the setter did after this sample, in millimetres; null: nothing. */
  readonly adjustment: number | null;
  /** C10 only: coordinates of the holes relative to their true places. */
  readonly holes: readonly { readonly x: number; readonly y: number }[] | null;
}

export interface GenerateOptions {
  readonly seed: number;
  readonly events: readonly PlantedEvent[];
}

/** Most samples meet no effect. */
const NONE: readonly never[] = [];

const effectsAt = (effects: readonly Effect[], time: number): readonly Effect[] => {
  const here = effects.filter(({ window }) => window.from <= time && time <= window.to);
  return here.length === 0 ? NONE : here;
};

const ofKind = <K extends Effect['kind']>(effects: readonly Effect[], kind: K): readonly EffectOf<K>[] =>
  effects.length === 0 ? NONE : effectsOfKind(effects, kind);

/** To the step of the gauge; the quotient of two whole numbers is the number that the decimals mean. */
const round = (value: number, decimals: number): number =>
  Math.round(value * 10 ** decimals) / 10 ** decimals;

/** The substream of one sample, lot or other thing of a stream. */
export const substreamOf = (
  key: StreamKey,
  seed: number,
  purpose: SubstreamKey['purpose'],
  index: number,
): Substream =>
  new Substream({
    seed,
    purpose,
    characteristic: characteristicNumber(key.characteristic),
    place: placeNumber(key.place),
    index,
  });

/**
 * The samples of a stream, oldest first. Each draws from a substream of its own, so a planted event changes the
 * samples in its window and no others.
 */
export function generateStream(key: StreamKey, options: GenerateOptions): readonly GeneratedSample[] {
  const effects = effectsOn(key, options.events);
  const line = lineOfPlace(key.place);
  const samples: GeneratedSample[] = [];
  let setting = 0;
  for (let index = 0; index < SAMPLE_COUNT; index++) {
    const time = sampleTime(index);
    const here = effectsAt(effects, time);
    const overAdjusted = ofKind(here, 'over-adjustment').length > 0;
    if (!overAdjusted) setting = 0;
    const sample = generateSample(
      { key, index, time, model: modelOn(line, dayOfIndex(index)), here, effects, seed: options.seed },
      setting,
    );
    if (overAdjusted && sample.readings !== null) {
      const deviation = mean(sample.readings) - nominalOf(offset.nominal, sample.model);
      const adjustment = round(-deviation, gaugeDecimals[key.characteristic]);
      setting += adjustment;
      samples.push({ ...sample, adjustment });
    } else samples.push(sample);
  }
  return samples;
}

const mean = (values: readonly number[]): number =>
  values.reduce((sum, value) => sum + value, 0) / values.length;

interface Situation {
  readonly key: StreamKey;
  readonly index: number;
  readonly time: number;
  readonly model: Model;
  /** The effects that hold at the time. */
  readonly here: readonly Effect[];
  /** All effects on the stream: strokes count from resets in the past. */
  readonly effects: readonly Effect[];
  readonly seed: number;
}

function generateSample(situation: Situation, setting: number): GeneratedSample {
  const { key, index, time, model, here, seed } = situation;
  const random = substreamOf(key, seed, 'readings', index);
  const invented = ofKind(here, 'invented-values')[0];
  const counted = key.characteristic === 'C3';
  const holes = key.characteristic === 'C10' ? boltHoles(here, random) : null;
  const slips = ofKind(here, 'typed-wrongly');
  return {
    index,
    takenAt: time,
    model,
    lot: lotName(lineOfPlace(key.place), lotOf(index)),
    entrySeconds: invented?.entrySeconds ?? usualEntrySeconds(substreamOf(key, seed, 'entry', index)),
    taken: ofKind(here, 'not-sampled').length === 0,
    adjustment: null,
    readings: counted ? null : shownReadings(situation, setting, holes, random),
    count: counted
      ? {
          inspected: sampleSizes.C3,
          nonconforming: random.binomial(sampleSizes.C3, leakProbability(here, time)),
        }
      : null,
    typed: slips.length === 0 ? NONE : slips.map(({ position, typed }) => ({ position, value: typed })),
    holes,
  };
}

const usualEntrySeconds = (random: Substream): number =>
  entrySeconds.shortest + (entrySeconds.longest - entrySeconds.shortest) * random.uniform();

/** What the gauge shows. */
function shownReadings(
  situation: Situation,
  setting: number,
  holes: GeneratedSample['holes'],
  random: Substream,
): number[] {
  const { key, index, model, here, seed } = situation;
  const raw = holes?.map(({ x, y }) => 2 * Math.hypot(x, y)) ?? rawReadings(situation, random);
  const shift = ofKind(here, 'shift').reduce((sum, { amount }) => sum + amount, setting);
  const factor = ofKind(here, 'multiply').reduce((product, effect) => product * effect.factor, 1);
  const decimals = gaugeDecimals[key.characteristic];
  const readings = raw.map((value) => round(value * factor + shift, decimals));
  for (const { position, model: other } of ofKind(here, 'other-model-piece')) {
    const difference = nominalOf(offset.nominal, other) - nominalOf(offset.nominal, model);
    readings[position] = round(raw[position]! + difference, decimals);
  }
  for (const { values } of ofKind(here, 'invented-values')) {
    const draws = substreamOf(key, seed, 'planted', index);
    readings.forEach((_, position) => {
      readings[position] = values[Math.floor(draws.uniform() * values.length)]!;
    });
  }
  for (const { position, value } of ofKind(here, 'typed-wrongly')) readings[position] = value;
  return readings;
}

/** Readings before shifts, factors and rounding. */
function rawReadings(situation: Situation, random: Substream): number[] {
  const { key, time, model, here, effects } = situation;
  const pieces = <T>(draw: () => T) => Array.from({ length: sampleSizes[key.characteristic] }, draw);
  switch (key.characteristic) {
    case 'C1': {
      const level = stripThickness.nominal + lotEffect(situation);
      return pieces(() => level + stripThickness.standardDeviation * random.normal());
    }
    case 'C2': {
      const ramp = ofKind(here, 'ramp')[0];
      const median = ramp
        ? ramp.start * (ramp.end / ramp.start) ** fractionOf(ramp, time)
        : beadHeight.median;
      return pieces(() => median * Math.exp(beadHeight.logStandardDeviation * random.normal()));
    }
    case 'C4': {
      const length = nominalOf(beadSeat.nominal, model);
      const { mean: usual, standardDeviation } = beadSeat.rimTemperature;
      const warm = ofKind(here, 'rim-temperature')[0];
      // One draw each, warm or not, so that the warm hours differ in temperature only.
      return pieces(() => {
        const ownTemperature = usual + standardDeviation * random.normal();
        const temperature = warm?.value ?? ownTemperature;
        const expansion = beadSeat.expansion * length * (temperature - beadSeat.tapeTemperature);
        return length + beadSeat.standardDeviation * random.normal() + expansion;
      });
    }
    case 'C5': {
      const width = nominalOf(rimWidth.nominal, model);
      return pieces(() => width + rimWidth.standardDeviation * random.normal());
    }
    case 'C6': {
      const third = ofKind(here, 'third-amplitude')[0];
      return pieces(() => runout(random, third));
    }
    case 'C7':
      return pieces(() => random.weibull(lateralRunout.shape, lateralRunout.scale));
    case 'C8': {
      const median = burr.median + burr.perThousandStrokes * strokesAt(time, effects);
      return pieces(() => median * Math.exp(burr.logStandardDeviation * random.normal()));
    }
    case 'C9': {
      const level = hubBore.mean + hubBore.perThousandStrokes * strokesAt(time, effects);
      return pieces(() => level + hubBore.standardDeviation * random.normal());
    }
    case 'C11':
      return pieces(() => discThickness.mean + discThickness.standardDeviation * random.normal());
    case 'C12': {
      const nominal = nominalOf(offset.nominal, model);
      return pieces(() => nominal + offset.standardDeviation * random.normal());
    }
    default:
      throw new RangeError(`${key.characteristic} has no single readings.`);
  }
}

/** Coordinates of the bolt holes of one disc, as deviations from their true places. */
function boltHoles(here: readonly Effect[], random: Substream): { x: number; y: number }[] {
  const deviation = ofKind(here, 'standard-deviation')[0]?.value ?? boltHole.standardDeviation;
  return Array.from({ length: sampleSizes.C10 }, () => ({
    x: deviation * random.normal(),
    y: deviation * random.normal(),
  }));
}

function lotEffect({ key, index, here, seed }: Situation): number {
  const lot = lotOf(index);
  const planted = ofKind(here, 'lot-effect').find((effect) => effect.lot === lot);
  return planted?.value ?? stripThickness.lotStandardDeviation * substreamOf(key, seed, 'lot', lot).normal();
}

/** How far a ramp has come: 0 at its first sample, 1 at its last. */
function fractionOf({ window }: EffectOf<'ramp'>, time: number): number {
  return (
    (runningHoursUntil(time) - runningHoursUntil(window.from)) /
    (runningHoursUntil(window.to) - runningHoursUntil(window.from))
  );
}

function leakProbability(here: readonly Effect[], time: number): number {
  const ramp = ofKind(here, 'ramp')[0];
  if (!ramp) return weldLeak.probability;
  const logOdds = (p: number) => Math.log(p / (1 - p));
  const now = logOdds(ramp.start) + (logOdds(ramp.end) - logOdds(ramp.start)) * fractionOf(ramp, time);
  return 1 / (1 + Math.exp(-now));
}

/** Thousand strokes since the last regrind or new insert, given the resets on a stream. */
export function strokesAt(time: number, effects: readonly Effect[]): number {
  const resets = effectsOfKind(effects, 'strokes-reset')
    .map(({ window }) => window.from)
    .filter((from) => from <= time);
  const hours = runningHoursUntil(time);
  if (resets.length === 0) return strokes.atStart + strokes.perHour * hours;
  return strokes.perHour * (hours - runningHoursUntil(Math.max(...resets)));
}

const { angles, amplitudeScales, noise, weld } = radialRunout;
const harmonicAngles = amplitudeScales.map((_, place) =>
  Array.from({ length: angles }, (_unused, step) => (2 * Math.PI * (place + 1) * step) / angles),
);
const cosines = harmonicAngles.map((list) => Float64Array.from(list, Math.cos));
const sines = harmonicAngles.map((list) => Float64Array.from(list, Math.sin));

/** Radial runout of one rim: largest less smallest radius of a trace that begins at the weld. */
function runout(random: Substream, third: EffectOf<'third-amplitude'> | undefined): number {
  const trace = new Float64Array(angles);
  for (let step = 0; step < angles; step++) trace[step] = noise * random.normal();
  amplitudeScales.forEach((scale, place) => {
    const usual = scale * random.rayleigh();
    const amplitude =
      third && place === 2 ? Math.abs(third.mean + third.standardDeviation * random.normal()) : usual;
    const phase = 2 * Math.PI * random.uniform();
    const a = amplitude * Math.cos(phase);
    const b = amplitude * Math.sin(phase);
    for (let step = 0; step < angles; step++)
      trace[step]! += a * cosines[place]![step]! + b * sines[place]![step]!;
  });
  trace[0]! += weld.median * Math.exp(weld.logStandardDeviation * random.normal());
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (const radius of trace) {
    if (radius < low) low = radius;
    if (radius > high) high = radius;
  }
  return high - low;
}
