/** "Quillmere Works": the made-up plant that the demo data come from. Names, people and limits are invented. */
import type {
  Characteristic,
  Line,
  Person,
  PlantModel,
  RunningHours,
  SamplingPlan,
  Specification,
  Station,
  Stream,
} from '../api/schemas.ts';
import type { RunRuleName } from '../src/run-rules/run-rule.ts';
import {
  beadSeat,
  type CharacteristicId,
  gaugeDecimals,
  type Place,
  rimWidth,
  type StreamKey,
  sampleSizes,
  streamId,
  streamKeys,
  stripThickness,
  offset as wheelOffset,
} from './generator/baselines.ts';
import { UTC_OFFSET_MINUTES } from './generator/calendar.ts';
import { reactionPlans } from './reaction-plans.ts';

export const PARTS_PER_HOUR = 310;
export const FIRST_SAMPLE_AT = '06:30';
export const SAMPLE_INTERVAL_MINUTES = 60;
export const runningHours: RunningHours = { start: '06:00', end: '22:00', weekdays: [1, 2, 3, 4, 5, 6] };

/** The engineer first: the first person of an empty plant signs for themselves, and then for the rest. */
export const people = {
  engineer: { id: 'engineer', name: 'Process engineer', role: 'engineer' },
  tech1: { id: 'tech-1', name: 'Tech, shift 1', role: 'tech' },
  tech2: { id: 'tech-2', name: 'Tech, shift 2', role: 'tech' },
  supervisor1: { id: 'supervisor-1', name: 'Supervisor, shift 1', role: 'supervisor' },
  supervisor2: { id: 'supervisor-2', name: 'Supervisor, shift 2', role: 'supervisor' },
  qualityManager: { id: 'quality', name: 'Quality manager', role: 'quality-manager' },
} as const satisfies Record<string, Person>;

const line = (id: string, name: string): Line => ({ id, name, partsPerHour: PARTS_PER_HOUR, runningHours });

const lines: Line[] = [
  line('R1', 'Rim line 1'),
  line('R2', 'Rim line 2'),
  // One stroke makes one disc on each of two lanes, so each lane makes as many parts as the press strokes.
  line('P1', 'Disc press'),
  line('A1', 'Assembly cell 1'),
  line('A2', 'Assembly cell 2'),
];

const stations: Station[] = [
  { id: 'R1-WELD', lineId: 'R1', name: 'Strip and weld, rim line 1' },
  { id: 'R1-RIM', lineId: 'R1', name: 'Rim gauges, rim line 1' },
  { id: 'R2-WELD', lineId: 'R2', name: 'Strip and weld, rim line 2' },
  { id: 'R2-RIM', lineId: 'R2', name: 'Rim gauges, rim line 2' },
  { id: 'P1-DISC', lineId: 'P1', name: 'Disc gauges, press' },
  { id: 'A1-WHEEL', lineId: 'A1', name: 'Wheel gauges, cell 1' },
  { id: 'A2-WHEEL', lineId: 'A2', name: 'Wheel gauges, cell 2' },
];

export function stationOf({ characteristic, place }: StreamKey): string {
  if (place === 'A' || place === 'B') return 'P1-DISC';
  if (place === 'A1' || place === 'A2') return `${place}-WHEEL`;
  return `${place}-${['C1', 'C2', 'C3'].includes(characteristic) ? 'WELD' : 'RIM'}`;
}

const WHEEL_MODELS = ['Q10', 'Q12', 'Q12W'] as const;
const models = [
  { id: 'Q10', name: 'Wheel Q10, 10 × 5.0' },
  { id: 'Q12', name: 'Wheel Q12, 12 × 6.0' },
  { id: 'Q12W', name: 'Wheel Q12W, 12 × 7.5' },
  { id: 'DISC', name: 'Disc, all models' },
];

interface Description {
  readonly name: string;
  readonly gauge: string;
  /** 0 where the characteristic cannot be negative and lies near zero. */
  readonly lowerNaturalBound: 0 | null;
}

const descriptions: Readonly<Record<CharacteristicId, Description>> = {
  C1: { name: 'Strip thickness', gauge: 'micrometer', lowerNaturalBound: null },
  C2: { name: 'Weld bead height after planishing', gauge: 'bridge dial gauge', lowerNaturalBound: 0 },
  C3: { name: 'Weld leak', gauge: 'pressure tester', lowerNaturalBound: 0 },
  C4: { name: 'Bead-seat circumference', gauge: 'ball tape', lowerNaturalBound: null },
  C5: { name: 'Rim width inside flanges', gauge: 'width fixture', lowerNaturalBound: null },
  C6: { name: 'Radial runout', gauge: 'rotary fixture, 24 angles', lowerNaturalBound: 0 },
  C7: { name: 'Lateral runout', gauge: 'rotary fixture', lowerNaturalBound: 0 },
  C8: { name: 'Burr at the pierced hole', gauge: 'optical burr gauge', lowerNaturalBound: 0 },
  C9: { name: 'Hub bore', gauge: 'bore gauge', lowerNaturalBound: null },
  C10: { name: 'Bolt-hole position', gauge: 'coordinate fixture', lowerNaturalBound: 0 },
  C11: { name: 'Disc minimum thickness', gauge: 'ball micrometer', lowerNaturalBound: null },
  C12: { name: 'Offset', gauge: 'height gauge on the pilot', lowerNaturalBound: null },
};

const characteristicIds = Object.keys(descriptions) as CharacteristicId[];

const characteristics: Characteristic[] = characteristicIds.map((id) => ({
  id,
  name: descriptions[id].name,
  kind: id === 'C3' ? 'count' : 'variable',
  unit: id === 'C3' ? '1' : 'mm',
  decimals: gaugeDecimals[id],
  gauge: descriptions[id].gauge,
  lowerNaturalBound: descriptions[id].lowerNaturalBound,
  upperNaturalBound: null,
}));

const around = (nominal: number, tolerance: number) => ({
  nominal,
  lowerSpecificationLimit: Number((nominal - tolerance).toFixed(3)),
  upperSpecificationLimit: Number((nominal + tolerance).toFixed(3)),
});
const atMost = (upperSpecificationLimit: number) => ({
  nominal: null,
  lowerSpecificationLimit: null,
  upperSpecificationLimit,
});

const forWheels = (
  characteristicId: string,
  limits: (model: (typeof WHEEL_MODELS)[number]) => Omit<Specification, 'characteristicId' | 'modelId'>,
): Specification[] => WHEEL_MODELS.map((modelId) => ({ characteristicId, modelId, ...limits(modelId) }));
const forDisc = (
  characteristicId: string,
  limits: Omit<Specification, 'characteristicId' | 'modelId'>,
): Specification => ({ characteristicId, modelId: 'DISC', ...limits });

const specifications: Specification[] = [
  // The tolerance is that of EN 10051 for this width and grade, from memory: confirm edition and clause.
  ...forWheels('C1', () => around(stripThickness.nominal, 0.14)),
  ...forWheels('C2', () => atMost(0.25)),
  ...forWheels('C4', (model) => around(beadSeat.nominal[model], 1.2)),
  ...forWheels('C5', (model) => around(rimWidth.nominal[model], 1.0)),
  ...forWheels('C6', () => atMost(0.8)),
  ...forWheels('C7', () => atMost(1.0)),
  forDisc('C8', atMost(0.15)),
  forDisc('C9', { nominal: 80.0, lowerSpecificationLimit: 80.0, upperSpecificationLimit: 80.15 }),
  forDisc('C10', atMost(0.4)),
  forDisc('C11', { nominal: null, lowerSpecificationLimit: 2.45, upperSpecificationLimit: null }),
  ...forWheels('C12', (model) => around(wheelOffset.nominal[model], 0.8)),
];

const placeNames: Readonly<Record<Place, { readonly name: string; readonly kind: Stream['kind'] }>> = {
  R1: { name: 'rim line 1', kind: 'roll set' },
  R2: { name: 'rim line 2', kind: 'roll set' },
  A1: { name: 'cell 1', kind: 'assembly cell' },
  A2: { name: 'cell 2', kind: 'assembly cell' },
  A: { name: 'lane A', kind: 'die lane' },
  B: { name: 'lane B', kind: 'die lane' },
};

const streams: Stream[] = streamKeys.map((key) => ({
  id: streamId(key),
  characteristicId: key.characteristic,
  stationId: stationOf(key),
  name: `${descriptions[key.characteristic].name}, ${placeNames[key.place].name}`,
  kind: key.characteristic === 'C2' || key.characteristic === 'C3' ? 'weld head' : placeNames[key.place].kind,
}));

/** One rule a chart: every further one costs false alarms on 24 streams, and none is needed here yet. */
const RULES: readonly RunRuleName[] = ['one-beyond-three-sigma'];

const remarks: Partial<Record<CharacteristicId, string>> = {
  C1: 'The strip moves from coil to coil with nothing wrong. Limits from the moving range of the means still leave about four means in ten outside, so signals call nobody.',
  C2: 'Bead heights are skewed and near zero, so limits for symmetric values raise some more false signals above than below until a chart for such shapes is there.',
  C3: 'Leaks are entered and stored as counts; their chart comes later.',
  C8: 'The burr grows with every stroke, so the chart signals as the punch wears until the chart for wear is there; limits are frozen anew after a regrind or a new insert, and after each full week of the run that follows.',
  C9: 'The bore shrinks a little with every stroke, so the chart drifts until the chart for wear is there; limits are frozen anew after a regrind and after each full week of the run that follows.',
};

function samplingPlanOf(key: StreamKey): SamplingPlan {
  const { characteristic } = key;
  const counted = characteristic === 'C3';
  return {
    streamId: streamId(key),
    sampleSize: sampleSizes[characteristic],
    firstSampleAt: FIRST_SAMPLE_AT,
    intervalMinutes: SAMPLE_INTERVAL_MINUTES,
    chart: counted ? 'none' : 'mean-range',
    locationRules: counted ? [] : [...RULES],
    spreadRules: counted ? [] : [...RULES],
    meanLimitsFrom: characteristic === 'C1' ? 'moving-range-of-means' : 'within-subgroup',
    remark: remarks[characteristic] ?? '',
    raisesAlarms: characteristic !== 'C1' && !counted,
    reactionPlan: reactionPlans[characteristic],
  };
}

export const plantModel: PlantModel = {
  plant: { name: 'Quillmere Works', utcOffsetMinutes: UTC_OFFSET_MINUTES },
  people: Object.values(people),
  lines,
  stations,
  models,
  characteristics,
  specifications,
  streams,
  plans: streamKeys.map(samplingPlanOf),
};
