import { describe, expect, it } from 'vitest';
import { type PlantModel, Recipient, type Routing, RoutingRule, Shift } from '../../api/schemas.ts';
import { type RecordForm, recordFrom, typedFrom } from '../../web/setup/record-forms.ts';
import { routingForms } from '../../web/setup/routing-forms.ts';

const plant = { lines: [{ id: 'R1', name: 'Rim line 1' }], people: [], characteristics: [] };
const forms = routingForms(
  plant as unknown as PlantModel,
  { recipients: [{ id: 'first', name: 'First' }], shifts: [] } as unknown as Routing,
);
const rule = {
  id: 'all',
  name: 'Everything',
  active: true,
  lineIds: ['R1'],
  shiftIds: [],
  severities: ['product', 'safety'],
  groupMinutes: 15,
};
const step = (afterMinutes: number, ...recipientIds: string[]) => ({ afterMinutes, recipientIds });

describe('the forms of routing', () => {
  it.each([
    [forms.shifts, Shift, { id: 'n', name: 'Night', start: '22:00', end: '06:00', weekdays: [1, 2] }],
    [
      forms.people,
      Recipient,
      { id: 'a', name: 'A', personId: null, to: { by: 'mail', address: 'a@b.example' } },
    ],
    [forms.people, Recipient, { id: 'a', name: 'A', personId: 'kim', to: { by: 'topic', topic: 'x/y' } }],
    [
      forms.people,
      Recipient,
      { id: 'a', name: 'A', personId: null, to: { by: 'webhook', url: 'https://a.example/' } },
    ],
    [forms.rules, RoutingRule, { ...rule, steps: [step(0, 'first')] }],
    [forms.rules, RoutingRule, { ...rule, steps: [step(0, 'first'), step(10, 'first')] }],
    [forms.rules, RoutingRule, { ...rule, steps: [step(0, 'first'), step(10, 'first'), step(30, 'first')] }],
  ] as const)('%#: a record goes into its form and out again unchanged', (form, schema, record) => {
    const made = recordFrom(form as RecordForm, typedFrom(form as RecordForm, record));
    expect(made.wrong).toEqual({});
    expect(made.record).toEqual(record);
    expect(schema.parse(made.record)).toEqual(record);
  });

  it('leaves half a step for the server to refuse, which names it', () => {
    const typed = { ...typedFrom(forms.rules, { ...rule, steps: [step(0, 'first')] }), secondAfter: '10' };
    const { record } = recordFrom(forms.rules, typed);
    expect(RoutingRule.safeParse(record).error?.issues[0]?.path).toEqual(['steps', 1, 'recipientIds']);
  });
});
