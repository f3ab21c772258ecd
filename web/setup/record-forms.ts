/** What Setup asks for each kind of plant record, and how typed text becomes a record. Pure: no page in here. */
import type { PlantModel, SamplingPlan } from '../../api/schemas.ts';
import { runRuleNames } from '../../src/run-rules/run-rule.ts';
import { parseTyped } from '../format.ts';

interface Choice {
  readonly value: string;
  readonly name: string;
}

interface Common {
  /** Dotted path in the record. */
  readonly name: string;
  readonly label: string;
  readonly hint?: string;
}

export type FormField =
  | (Common & { readonly type: 'text' | 'time' })
  /** `optional`: empty means null. */
  | (Common & { readonly type: 'number'; readonly optional?: boolean })
  | (Common & {
      readonly type: 'choice' | 'choices';
      readonly choices: readonly Choice[];
      readonly numeric?: boolean;
    })
  | (Common & { readonly type: 'lines' })
  | (Common & { readonly type: 'yes-no' });

/** Text as typed; for 'choices' the chosen values, one a line. */
export type TypedRecord = Readonly<Record<string, string>>;

type RecordKind =
  | 'people'
  | 'lines'
  | 'stations'
  | 'models'
  | 'characteristics'
  | 'specifications'
  | 'streams'
  | 'plans';

export interface RecordForm<Kind extends string = string> {
  /** Its address under /api/. */
  readonly kind: Kind;
  readonly title: string;
  /** One of them, for buttons: "Add a line". */
  readonly one: string;
  readonly why: string;
  readonly fields: readonly FormField[];
  /** Fields that name the record; they cannot change once it exists. */
  readonly keys: readonly string[];
  /** Typed text that a new record starts with. */
  readonly start: TypedRecord;
  /** A plant works without any. */
  readonly optional?: true;
  /** Where a record is more than its fields: how it is shown in them, and how it is made of them. */
  readonly shown?: (record: never) => unknown;
  readonly made?: (fields: never) => unknown;
}

const same = (...values: readonly string[]): Choice[] => values.map((value) => ({ value, name: value }));
export const named = (list: readonly { id: string; name: string }[]): Choice[] =>
  list.map((item) => ({
    value: item.id,
    name: item.name === item.id ? item.id : `${item.name} (${item.id})`,
  }));

export const weekdays: readonly Choice[] = [
  'Monday',
  'Tuesday',
  'Wednesday',
  'Thursday',
  'Friday',
  'Saturday',
  'Sunday',
].map((name, index) => ({ value: String(index + 1), name }));

export const id: FormField = {
  name: 'id',
  label: 'Short name',
  type: 'text',
  hint: 'Letters, digits, dot, dash; it stays for ever.',
};
export const name: FormField = { name: 'name', label: 'Name', type: 'text' };

const ruleChoices: readonly Choice[] = runRuleNames.map((rule) => ({
  value: rule,
  name: rule.replaceAll('-', ' '),
}));

/** The forms in the order in which an empty plant is set up. */
export function recordForms(plant: PlantModel): readonly RecordForm<RecordKind>[] {
  const streams = plant.streams.map((stream) => ({
    value: stream.id,
    name: `${stream.name} (${stream.id})`,
  }));
  return [
    {
      kind: 'people',
      title: 'People',
      one: 'person',
      why: 'Every record carries the person who made it.',
      keys: ['id'],
      start: { role: 'tech' },
      fields: [
        id,
        name,
        {
          name: 'role',
          label: 'Role',
          type: 'choice',
          choices: [
            { value: 'tech', name: 'quality tech' },
            { value: 'engineer', name: 'process engineer' },
            { value: 'supervisor', name: 'shift supervisor' },
            { value: 'quality-manager', name: 'quality manager' },
            { value: 'administrator', name: 'administrator' },
          ],
        },
      ],
    },
    {
      kind: 'lines',
      title: 'Lines',
      one: 'line',
      why: 'The rate and the running hours tell how many parts are suspect.',
      keys: ['id'],
      start: {
        'runningHours.start': '06:00',
        'runningHours.end': '22:00',
        'runningHours.weekdays': '1\n2\n3\n4\n5\n6',
      },
      fields: [
        id,
        name,
        { name: 'partsPerHour', label: 'Parts an hour', type: 'number' },
        { name: 'runningHours.start', label: 'Runs from', type: 'time' },
        { name: 'runningHours.end', label: 'Runs until', type: 'time', hint: '24:00 for midnight' },
        {
          name: 'runningHours.weekdays',
          label: 'Runs on',
          type: 'choices',
          choices: weekdays,
          numeric: true,
        },
      ],
    },
    {
      kind: 'stations',
      title: 'Stations',
      one: 'station',
      why: 'Where parts are measured, beside the line.',
      keys: ['id'],
      start: {},
      fields: [id, { name: 'lineId', label: 'Line', type: 'choice', choices: named(plant.lines) }, name],
    },
    {
      kind: 'models',
      title: 'Part models',
      one: 'part model',
      why: 'Models are never mixed in one chart.',
      keys: ['id'],
      start: {},
      fields: [id, name],
    },
    {
      kind: 'characteristics',
      title: 'Characteristics',
      one: 'characteristic',
      why: 'What is measured or counted, in which unit, with which gauge.',
      keys: ['id'],
      start: { kind: 'variable', unit: 'mm', decimals: '2' },
      fields: [
        id,
        name,
        {
          name: 'kind',
          label: 'Kind',
          type: 'choice',
          choices: [
            { value: 'variable', name: 'measured values' },
            { value: 'count', name: 'nonconforming parts, counted' },
          ],
        },
        {
          name: 'unit',
          label: 'Unit',
          type: 'choice',
          choices: same('mm', 'in', 'µm', '°', 'kN', 'g', 's', '1'),
        },
        { name: 'decimals', label: 'Decimals that the gauge resolves', type: 'number' },
        { name: 'gauge', label: 'Gauge', type: 'text' },
        {
          name: 'lowerNaturalBound',
          label: 'Lower natural bound',
          type: 'number',
          optional: true,
          hint: 'A value it cannot pass by nature, such as 0 for a runout. Empty: none.',
        },
        {
          name: 'upperNaturalBound',
          label: 'Upper natural bound',
          type: 'number',
          optional: true,
          hint: 'Empty: none.',
        },
      ],
    },
    {
      kind: 'specifications',
      title: 'Specifications',
      one: 'specification',
      why: 'What the drawing asks of a part model. Not a control limit.',
      keys: ['characteristicId', 'modelId'],
      start: {},
      fields: [
        {
          name: 'characteristicId',
          label: 'Characteristic',
          type: 'choice',
          choices: named(plant.characteristics),
        },
        { name: 'modelId', label: 'Part model', type: 'choice', choices: named(plant.models) },
        { name: 'nominal', label: 'Nominal', type: 'number', optional: true },
        {
          name: 'lowerSpecificationLimit',
          label: 'Lower specification limit',
          type: 'number',
          optional: true,
          hint: 'Empty: none.',
        },
        {
          name: 'upperSpecificationLimit',
          label: 'Upper specification limit',
          type: 'number',
          optional: true,
          hint: 'Empty: none.',
        },
      ],
    },
    {
      kind: 'streams',
      title: 'Streams',
      one: 'stream',
      why: 'One die lane, roll set or weld head, watched for one characteristic.',
      keys: ['id'],
      start: { kind: 'die lane' },
      fields: [
        id,
        {
          name: 'characteristicId',
          label: 'Characteristic',
          type: 'choice',
          choices: named(plant.characteristics),
        },
        { name: 'stationId', label: 'Station', type: 'choice', choices: named(plant.stations) },
        { ...name, hint: 'The lane, roll set or head, as people call it' },
        {
          name: 'kind',
          label: 'Kind',
          type: 'choice',
          choices: same('die lane', 'roll set', 'weld head', 'assembly cell', 'cavity', 'other'),
        },
      ],
    },
    {
      kind: 'plans',
      title: 'Sampling plans',
      one: 'sampling plan',
      why: 'How many, how often, which charts and rules, and what to do on a signal.',
      keys: ['streamId'],
      start: {
        sampleSize: '5',
        firstSampleAt: '06:30',
        intervalMinutes: '60',
        chart: 'mean-range',
        locationRules: 'one-beyond-three-sigma',
        spreadRules: 'one-beyond-three-sigma',
        meanLimitsFrom: 'within-subgroup',
        raisesAlarms: 'yes',
        firstPieceAfterAdjustment: 'no',
        'reactionPlan.steps':
          'Measure the same piece again.\nCheck the gauge on its master.\nMeasure fresh pieces.\nCall the shift supervisor and segregate parts since the last good sample.',
        'reactionPlan.cautions':
          'Never reach into a running press, roll or welder. Isolation and lockout are for authorised staff; site rules and local law come first.',
      },
      fields: [
        { name: 'streamId', label: 'Stream', type: 'choice', choices: streams },
        {
          name: 'sampleSize',
          label: 'Readings in a sample',
          type: 'number',
          hint: 'For counted parts: parts inspected',
        },
        { name: 'firstSampleAt', label: 'First sample of a day', type: 'time' },
        { name: 'intervalMinutes', label: 'Minutes between samples', type: 'number' },
        {
          name: 'chart',
          label: 'Charts',
          type: 'choice',
          choices: [
            { value: 'mean-range', name: 'mean and range' },
            { value: 'mean-standard-deviation', name: 'mean and standard deviation' },
            { value: 'individuals-moving-range', name: 'individual values and moving range' },
            { value: 'none', name: 'none: stored, not charted' },
          ],
        },
        { name: 'locationRules', label: 'Run rules for location', type: 'choices', choices: ruleChoices },
        { name: 'spreadRules', label: 'Run rules for spread', type: 'choices', choices: ruleChoices },
        {
          name: 'meanLimitsFrom',
          label: 'Limits for means come from',
          type: 'choice',
          choices: [
            { value: 'within-subgroup', name: 'the readings inside a subgroup' },
            { value: 'moving-range-of-means', name: 'the moving range of the means' },
          ],
        },
        { name: 'raisesAlarms', label: 'Signals raise alarms', type: 'yes-no' },
        {
          name: 'firstPieceAfterAdjustment',
          label: 'A first piece after every adjustment',
          type: 'yes-no',
          hint: 'After a changeover, a tool change and a regrind one is always asked for.',
        },
        {
          name: 'remark',
          label: 'Remark',
          type: 'text',
          hint: 'Why the plan departs from the usual; shown on the screens.',
        },
        { name: 'reactionPlan.steps', label: 'Reaction plan, one step a line', type: 'lines' },
        { name: 'reactionPlan.cautions', label: 'Cautions, one a line', type: 'lines' },
      ],
      shown: (plan: SamplingPlan) => ({ firstPieceAfterAdjustment: false, ...plan }),
      // Left out where it is not asked for, as in plans from before it could be.
      made: ({ firstPieceAfterAdjustment, ...plan }: SamplingPlan) =>
        firstPieceAfterAdjustment ? { ...plan, firstPieceAfterAdjustment } : plan,
    },
  ];
}

type Nested = { [key: string]: unknown };

const at = (record: unknown, path: string): unknown =>
  path.split('.').reduce<unknown>((value, key) => (value as Nested | null | undefined)?.[key], record);

/** The text that a stored record shows in its form. */
export function typedFrom(form: RecordForm, record: unknown): TypedRecord {
  const shown = form.shown === undefined ? record : form.shown(record as never);
  return Object.fromEntries(
    form.fields.map((field) => {
      const value = at(shown, field.name);
      if (Array.isArray(value)) return [field.name, value.join('\n')];
      if (typeof value === 'boolean') return [field.name, value ? 'yes' : 'no'];
      return [field.name, value === null || value === undefined ? '' : String(value)];
    }),
  );
}

export interface ReadRecord {
  readonly record: Nested;
  /** What is wrong with a field, in words; empty when the record can be sent. */
  readonly wrong: Readonly<Record<string, string>>;
}

/** Reads a form. What the server knows better (references, reversed limits) is left to the server. */
export function recordFrom(form: RecordForm, typed: TypedRecord): ReadRecord {
  const record: Nested = {};
  const wrong: Record<string, string> = {};
  for (const field of form.fields) {
    const text = (typed[field.name] ?? '').trim();
    const value = read(field, text);
    // Part of the address under which it is stored: without it the server would speak of addresses.
    if (field.type === 'text' && text === '' && form.keys.includes(field.name))
      wrong[field.name] = 'Give it one.';
    else if (typeof value === 'object' && value !== null && 'wrong' in value)
      wrong[field.name] = String(value.wrong);
    else put(record, field.name, value);
  }
  if (form.made === undefined || Object.keys(wrong).length > 0) return { record, wrong };
  return { record: form.made(record as never) as Nested, wrong };
}

function read(field: FormField, text: string): unknown {
  switch (field.type) {
    case 'number': {
      if (text === '') return field.optional ? null : { wrong: 'Type a number.' };
      return parseTyped(text) ?? { wrong: `“${text}” is not a number: digits, with a comma or a point.` };
    }
    case 'choices': {
      const chosen = text.split('\n').filter((line) => line !== '');
      return field.numeric ? chosen.map(Number) : chosen;
    }
    case 'lines':
      return text
        .split('\n')
        .map((line) => line.trim())
        .filter((line) => line !== '');
    case 'yes-no':
      return text === 'yes';
    case 'choice':
      return text === '' ? { wrong: 'Choose one.' } : text;
    case 'time':
      return /^\d{2}:\d{2}$/.test(text) ? text : { wrong: 'Write the time as hh:mm.' };
    case 'text':
      return text;
  }
}

function put(record: Nested, path: string, value: unknown): void {
  const keys = path.split('.');
  const last = keys.pop()!;
  let target = record;
  for (const key of keys) {
    target[key] ??= {};
    target = target[key] as Nested;
  }
  target[last] = value;
}
