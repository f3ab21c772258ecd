/** What Setup asks about who hears of an alarm, and how typed text becomes a record. Pure: no page in here. */
import type { PlantModel, Recipient, Routing, RoutingRule } from '../../api/schemas.ts';
import { id, name, named, type RecordForm, weekdays } from './record-forms.ts';

const NOBODY = '-';
/** A form holds this many steps; a rule made through the API may have more, and then is changed there. */
export const SHOWN_STEPS = 3;

/** A recipient as one row of fields. */
interface FlatRecipient {
  readonly id: string;
  readonly name: string;
  readonly personId: string;
  readonly by: Recipient['to']['by'];
  readonly address: string;
}

function addressOf(to: Recipient['to']): string {
  if (to.by === 'mail') return to.address;
  return to.by === 'webhook' ? to.url : to.topic;
}

function toOf({ by, address }: FlatRecipient): Recipient['to'] {
  if (by === 'mail') return { by, address };
  return by === 'webhook' ? { by, url: address } : { by, topic: address };
}

interface FlatRule extends Omit<RoutingRule, 'steps' | 'groupMinutes'> {
  readonly groupMinutes: number;
  readonly first: string[];
  readonly secondAfter: number | null;
  readonly second: string[];
  readonly thirdAfter: number | null;
  readonly third: string[];
}

function flatRule({ steps, ...rule }: RoutingRule): FlatRule {
  const [first, second, third] = steps;
  return {
    ...rule,
    first: first?.recipientIds ?? [],
    secondAfter: second?.afterMinutes ?? null,
    second: second?.recipientIds ?? [],
    thirdAfter: third?.afterMinutes ?? null,
    third: third?.recipientIds ?? [],
  };
}

/** A step without people and without minutes is none; half of one is left to the server to refuse. */
function ruleOf({ first, secondAfter, second, thirdAfter, third, ...rule }: FlatRule): RoutingRule {
  const later = [
    { afterMinutes: secondAfter, recipientIds: second },
    { afterMinutes: thirdAfter, recipientIds: third },
  ];
  return {
    ...rule,
    steps: [
      { afterMinutes: 0, recipientIds: first },
      ...later
        .filter(({ afterMinutes, recipientIds }) => afterMinutes !== null || recipientIds.length > 0)
        .map(({ afterMinutes, recipientIds }) => ({ afterMinutes: afterMinutes ?? 0, recipientIds })),
    ],
  };
}

export const safetyForm = (plant: PlantModel): RecordForm => ({
  kind: 'routing/safety',
  title: 'Safety',
  one: 'list of what is about safety',
  why: '',
  keys: [],
  start: {},
  fields: [
    {
      name: 'characteristicIds',
      label: 'Alarms of these come before everything, and cannot be shelved',
      type: 'choices',
      choices: named(plant.characteristics),
    },
  ],
});

export function routingForms(plant: PlantModel, routing: Routing) {
  const recipients = named(routing.recipients);
  const shifts: RecordForm = {
    kind: 'routing/shifts',
    title: 'Shifts',
    one: 'shift',
    why: 'When who is there. An end that is not later than the start is on the next day.',
    optional: true,
    keys: ['id'],
    start: { weekdays: '1\n2\n3\n4\n5' },
    fields: [
      id,
      name,
      { name: 'start', label: 'Begins', type: 'time' },
      { name: 'end', label: 'Ends', type: 'time' },
      { name: 'weekdays', label: 'Begins on', type: 'choices', choices: weekdays, numeric: true },
    ],
  };
  const people: RecordForm = {
    kind: 'routing/recipients',
    title: 'Who is reached, and how',
    one: 'recipient',
    why: 'A mail address, a webhook, or a topic of the broker.',
    optional: true,
    keys: ['id'],
    start: { personId: NOBODY },
    shown: ({ to, personId, ...rest }: Recipient): FlatRecipient => ({
      ...rest,
      personId: personId ?? NOBODY,
      by: to.by,
      address: addressOf(to),
    }),
    made: (flat: FlatRecipient): Recipient => ({
      id: flat.id,
      name: flat.name,
      personId: flat.personId === NOBODY ? null : flat.personId,
      to: toOf(flat),
    }),
    fields: [
      id,
      name,
      {
        name: 'by',
        label: 'By',
        type: 'choice',
        choices: [
          { value: 'mail', name: 'Mail' },
          { value: 'webhook', name: 'Webhook' },
          { value: 'topic', name: 'Topic of the broker' },
        ],
      },
      {
        name: 'address',
        label: 'Address',
        type: 'text',
        hint: 'A mail address, https://…, or the topic after …/messages/',
      },
      {
        name: 'personId',
        label: 'Whose alarms these are',
        type: 'choice',
        choices: [{ value: NOBODY, name: 'Nobody’s in particular' }, ...named(plant.people)],
        hint: 'Alarms are counted for this person: more than 10 in 10 minutes are a flood.',
      },
    ],
  };
  const minutes = { type: 'number', optional: true } as const;
  const rules: RecordForm = {
    kind: 'routing/rules',
    title: 'Who hears of which alarm',
    one: 'rule',
    why: 'Every rule that fits is followed. Nothing chosen means every line, or any time.',
    optional: true,
    keys: ['id'],
    start: { active: 'yes', groupMinutes: '15', severities: 'process\nproduct\nsafety' },
    shown: flatRule,
    made: ruleOf,
    fields: [
      id,
      name,
      { name: 'active', label: 'In force', type: 'yes-no' },
      {
        name: 'severities',
        label: 'At stake',
        type: 'choices',
        choices: [
          { value: 'safety', name: 'Safety' },
          { value: 'product', name: 'Parts outside the drawing' },
          { value: 'process', name: 'The process has changed' },
        ],
      },
      { name: 'lineIds', label: 'Lines', type: 'choices', choices: named(plant.lines) },
      { name: 'shiftIds', label: 'Shifts', type: 'choices', choices: named(routing.shifts) },
      {
        name: 'groupMinutes',
        label: 'Minutes in which alarms of a line are one incident',
        type: 'number',
      },
      { name: 'first', label: 'At once', type: 'choices', choices: recipients },
      { ...minutes, name: 'secondAfter', label: 'Minutes until the second is told, if nobody acknowledges' },
      { name: 'second', label: 'Second', type: 'choices', choices: recipients },
      { ...minutes, name: 'thirdAfter', label: 'Minutes until the third is told' },
      { name: 'third', label: 'Third', type: 'choices', choices: recipients },
    ],
  };
  return { shifts, people, rules };
}
