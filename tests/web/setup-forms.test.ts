import { describe, expect, it } from 'vitest';
import {
  Characteristic,
  Line,
  PartModel,
  Person,
  type PlantModel,
  SamplingPlan,
  Specification,
  Station,
  Stream,
} from '../../api/schemas.ts';
import { type RecordForm, recordForms, recordFrom, typedFrom } from '../../web/setup/record-forms.ts';

const examples = {
  people: { id: 'tech1', name: 'Tech, shift 1', role: 'tech' },
  lines: {
    id: 'R1',
    name: 'Rim line 1',
    partsPerHour: 310.5,
    runningHours: { start: '06:00', end: '24:00', weekdays: [1, 2, 6] },
  },
  stations: { id: 'R1-gauge', lineId: 'R1', name: 'Gauge bench' },
  models: { id: 'Q10', name: 'Ten inch' },
  characteristics: {
    id: 'C5',
    name: 'Rim width',
    kind: 'variable',
    unit: 'mm',
    decimals: 2,
    gauge: 'width fixture',
    lowerNaturalBound: 0,
    upperNaturalBound: null,
  },
  specifications: {
    characteristicId: 'C5',
    modelId: 'Q10',
    nominal: 127,
    lowerSpecificationLimit: 126,
    upperSpecificationLimit: null,
  },
  streams: {
    id: 'C5-R1',
    characteristicId: 'C5',
    stationId: 'R1-gauge',
    name: 'roll set 1',
    kind: 'roll set',
  },
  plans: {
    streamId: 'C5-R1',
    sampleSize: 5,
    firstSampleAt: '06:30',
    intervalMinutes: 60,
    chart: 'mean-range',
    locationRules: ['one-beyond-three-sigma', 'run-on-one-side'],
    spreadRules: [],
    meanLimitsFrom: 'within-subgroup',
    remark: 'trial week',
    raisesAlarms: false,
    reactionPlan: { steps: ['Measure again.', 'Call.'], cautions: [] },
  },
} as const;

const schemas = {
  people: Person,
  lines: Line,
  stations: Station,
  models: PartModel,
  characteristics: Characteristic,
  specifications: Specification,
  streams: Stream,
  plans: SamplingPlan,
};

const emptyPlant: PlantModel = {
  plant: { name: 'Works', utcOffsetMinutes: 60 },
  people: [],
  lines: [],
  stations: [],
  models: [],
  characteristics: [],
  specifications: [],
  streams: [],
  plans: [],
};

const formFor = (kind: RecordForm['kind']): RecordForm =>
  recordForms(emptyPlant).find((form) => form.kind === kind)!;

describe('Setup forms', () => {
  for (const kind of Object.keys(examples) as (keyof typeof examples)[]) {
    it(`shows every field of ${kind} and reads back the same record`, () => {
      const form = formFor(kind);
      const read = recordFrom(form, typedFrom(form, examples[kind]));
      expect(read.wrong).toEqual({});
      expect(read.record).toEqual(examples[kind]);
      expect(schemas[kind].parse(read.record)).toEqual(examples[kind]);
    });
  }

  it('keeps that a plan asks for a first piece after every adjustment, and leaves it out where it does not', () => {
    const form = formFor('plans');
    const asked = { ...examples.plans, firstPieceAfterAdjustment: true };
    expect(recordFrom(form, typedFrom(form, asked)).record).toEqual(asked);
    const not = { ...typedFrom(form, asked), firstPieceAfterAdjustment: 'no' };
    expect(recordFrom(form, not).record).toEqual(examples.plans);
  });

  it('reads a decimal comma', () => {
    const form = formFor('lines');
    const typed = { ...typedFrom(form, examples.lines), partsPerHour: '310,5' };
    expect(recordFrom(form, typed).record.partsPerHour).toBe(310.5);
  });

  it('names the field that is not a number, not chosen, or not a time', () => {
    const line = recordFrom(formFor('lines'), {
      id: 'R1',
      name: 'R',
      partsPerHour: '3,1,0',
      'runningHours.start': '6',
    });
    expect(line.wrong.partsPerHour).toContain('3,1,0');
    expect(line.wrong['runningHours.start']).toContain('hh:mm');
    expect(recordFrom(formFor('people'), { id: 'a', name: 'b', role: '' }).wrong.role).toBe('Choose one.');
  });

  it('takes an empty optional number as none', () => {
    const form = formFor('specifications');
    const typed = { ...typedFrom(form, examples.specifications), nominal: ' ' };
    expect(recordFrom(form, typed).record.nominal).toBeNull();
  });
});
