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

/** The effects of one kind that hold at a time. */
const active = <K extends Effect['kind']>(
  effects: readonly Effect[],
  kind: K,
  time: number,
): readonly EffectOf<K>[] =>
  effectsOfKind(effects, kind).filter(({ window }) => window.from <= time && time <= window.to);

const round = (value: number, decimals: number): number => Number(value.toFixed(decimals));

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
  const samples: GeneratedSample[] = [];
  let setting = 0;
  for (let index = 0; index < SAMPLE_COUNT; index++) {
    const time = sampleTime(index);
    const overAdjusted = active(effects, 'over-adjustment', time).length > 0;
    if (!overAdjusted) setting = 0;
    const sample = generateSample(key, index, setting, effects, options.seed);
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

function generateSample(
  key: StreamKey,
  index: number,
  setting: number,
  effects: readonly Effect[],
  seed: number,
): GeneratedSample {
  const time = sampleTime(index);
  const line = lineOfPlace(key.place);
  const model = modelOn(line, dayOfIndex(index));
  const random = substreamOf(key, seed, 'readings', index);
  const entry = substreamOf(key, seed, 'entry', index);
  const invented = active(effects, 'invented-values', time)[0];
  const common = {
    index,
    takenAt: time,
    model,
    lot: lotName(line, lotOf(index)),
    entrySeconds:
      invented?.entrySeconds ??
      entrySeconds.shortest + (entrySeconds.longest - entrySeconds.shortest) * entry.uniform(),
    taken: active(effects, 'not-sampled', time).length === 0,
    adjustment: null,
  };
  if (key.characteristic === 'C3') {
    const inspected = sampleSizes.C3;
    const nonconforming = random.binomial(inspected, leakProbability(effects, time));
    return { ...common, readings: null, count: { inspected, nonconforming }, typed: [], holes: null };
  }

  const situation: Situation = { key, index, time, model, effects, seed };
  const holes = key.characteristic === 'C10' ? boltHoles(situation, random) : null;
  const raw = holes?.map(({ x, y }) => 2 * Math.hypot(x, y)) ?? rawReadings(situation, random);
  const shift = setting + active(effects, 'shift', time).reduce((sum, { amount }) => sum + amount, 0);
  const factor = active(effects, 'multiply', time).reduce((product, effect) => product * effect.factor, 1);
  const decimals = gaugeDecimals[key.characteristic];
  const readings = raw.map((value) => round(value * factor + shift, decimals));
  for (const { position, model: other } of active(effects, 'other-model-piece', time)) {
    const difference = nominalOf(offset.nominal, other) - nominalOf(offset.nominal, model);
    readings[position] = round(raw[position]! + difference, decimals);
  }
  if (invented) {
    const draws = substreamOf(key, seed, 'planted', index);
    readings.forEach((_, position) => {
      readings[position] = invented.values[Math.floor(draws.uniform() * invented.values.length)]!;
    });
  }
  const slips = active(effects, 'typed-wrongly', time);
  for (const { position, value } of slips) readings[position] = value;
  const typed = slips.map((slip) => ({ position: slip.position, value: slip.typed }));
  return { ...common, readings, count: null, typed, holes };
}

interface Situation {
  readonly key: StreamKey;
  readonly index: number;
  readonly time: number;
  readonly model: Model;
  readonly effects: readonly Effect[];
  readonly seed: number;
}

/** Readings before shifts, factors and rounding. */
function rawReadings(situation: Situation, random: Substream): number[] {
  const { key, time, model, effects } = situation;
  const pieces = <T>(draw: () => T) => Array.from({ length: sampleSizes[key.characteristic] }, draw);
  switch (key.characteristic) {
    case 'C1': {
      const level = stripThickness.nominal + lotEffect(situation);
      return pieces(() => level + stripThickness.standardDeviation * random.normal());
    }
    case 'C2': {
      const ramp = active(effects, 'ramp', time)[0];
      const median = ramp
        ? ramp.start * (ramp.end / ramp.start) ** fractionOf(ramp, time)
        : beadHeight.median;
      return pieces(() => median * Math.exp(beadHeight.logStandardDeviation * random.normal()));
    }
    case 'C4': {
      const length = nominalOf(beadSeat.nominal, model);
      const { mean: usual, standardDeviation } = beadSeat.rimTemperature;
      const warm = active(effects, 'rim-temperature', time)[0];
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
      const third = active(effects, 'third-amplitude', time)[0];
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
function boltHoles({ time, effects }: Situation, random: Substream): { x: number; y: number }[] {
  const deviation = active(effects, 'standard-deviation', time)[0]?.value ?? boltHole.standardDeviation;
  return Array.from({ length: sampleSizes.C10 }, () => ({
    x: deviation * random.normal(),
    y: deviation * random.normal(),
  }));
}

function lotEffect({ key, index, time, effects, seed }: Situation): number {
  const lot = lotOf(index);
  const planted = active(effects, 'lot-effect', time).find((effect) => effect.lot === lot);
  return planted?.value ?? stripThickness.lotStandardDeviation * substreamOf(key, seed, 'lot', lot).normal();
}

/** How far a ramp has come: 0 at its first sample, 1 at its last. */
function fractionOf({ window }: EffectOf<'ramp'>, time: number): number {
  return (
    (runningHoursUntil(time) - runningHoursUntil(window.from)) /
    (runningHoursUntil(window.to) - runningHoursUntil(window.from))
  );
}

function leakProbability(effects: readonly Effect[], time: number): number {
  const ramp = active(effects, 'ramp', time)[0];
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

const harmonics = radialRunout.amplitudeScales.map((_, place) =>
  Array.from({ length: radialRunout.angles }, (_unused, step) => {
    const angle = (2 * Math.PI * (place + 1) * step) / radialRunout.angles;
    return { cosine: Math.cos(angle), sine: Math.sin(angle) };
  }),
);

/** Radial runout of one rim: largest less smallest radius of a trace that begins at the weld. */
function runout(random: Substream, third: EffectOf<'third-amplitude'> | undefined): number {
  const trace = Array.from({ length: radialRunout.angles }, () => radialRunout.noise * random.normal());
  radialRunout.amplitudeScales.forEach((scale, place) => {
    const usual = scale * random.rayleigh();
    const amplitude =
      third && place === 2 ? Math.abs(third.mean + third.standardDeviation * random.normal()) : usual;
    const phase = 2 * Math.PI * random.uniform();
    const a = amplitude * Math.cos(phase);
    const b = amplitude * Math.sin(phase);
    harmonics[place]!.forEach(({ cosine, sine }, step) => {
      trace[step]! += a * cosine + b * sine;
    });
  });
  trace[0]! += radialRunout.weld.median * Math.exp(radialRunout.weld.logStandardDeviation * random.normal());
  return Math.max(...trace) - Math.min(...trace);
}
