/** Shifts, recipients, rules and what is safety-relevant: one document each. Each change is a note in the record. */
import { unacceptable, unknown } from '../problem.ts';
import type { PlantModel, Recipient, RoutingRule, Shift } from '../schemas.ts';
import type { Sql } from '../store/sql.ts';
import type { StoreTransaction } from '../store/store.ts';

export interface RoutingRecords {
  readonly safetyCharacteristicIds: readonly string[];
  readonly shifts: readonly Shift[];
  readonly recipients: readonly Recipient[];
  readonly rules: readonly RoutingRule[];
}

export type RoutingRecord =
  | { readonly kind: 'shifts'; readonly record: Shift }
  | { readonly kind: 'recipients'; readonly record: Recipient }
  | { readonly kind: 'rules'; readonly record: RoutingRule }
  | { readonly kind: 'safety'; readonly record: { readonly characteristicIds: readonly string[] } };

export async function routingRecords(sql: Sql): Promise<RoutingRecords> {
  const rows = await sql.all<{ kind: RoutingRecord['kind']; body: string }>(
    'select kind, body from routing_records order by kind, id',
  );
  const of = <T>(kind: RoutingRecord['kind']): T[] =>
    rows.filter((row) => row.kind === kind).map(({ body }) => JSON.parse(body));
  return {
    safetyCharacteristicIds: of<{ characteristicIds: string[] }>('safety')[0]?.characteristicIds ?? [],
    shifts: of<Shift>('shifts'),
    recipients: of<Recipient>('recipients'),
    rules: of<RoutingRule>('rules'),
  };
}

const idOf = ({ kind, record }: RoutingRecord): string => (kind === 'safety' ? 'plant' : record.id);

export async function saveRoutingRecord(
  transaction: StoreTransaction,
  routingRecord: RoutingRecord,
  reason: string,
  personId: string,
  now: number,
): Promise<void> {
  const { kind, record } = routingRecord;
  check(await transaction.plantModel(), await routingRecords(transaction.sql), routingRecord);
  const id = idOf(routingRecord);
  const body = JSON.stringify(record);
  const before = await transaction.sql.one<{ body: string }>(
    'select body from routing_records where kind = ? and id = ?',
    kind,
    id,
  );
  if (before?.body === body) return;
  if (before !== null && reason === '') {
    throw unacceptable('reason', 'must say why an existing record is changed.');
  }
  await transaction.sql.run(
    `insert into routing_records (kind, id, body) values (?, ?, ?)
     on conflict (kind, id) do update set body = excluded.body`,
    kind,
    id,
    body,
  );
  await transaction.addNote({
    at: now,
    personId,
    what: 'changed the routing of alarms',
    about: `${kind}/${id}`,
    detail: { reason, before: before === null ? null : JSON.parse(before.body), after: record },
  });
}

/** Everything that a record names must be there. */
function check(plant: PlantModel, routing: RoutingRecords, { kind, record }: RoutingRecord): void {
  const known = (
    list: readonly { readonly id: string }[],
    what: string,
    ids: readonly string[],
    field: string,
  ) => {
    for (const [index, id] of ids.entries()) {
      if (!list.some((item) => item.id === id)) throw unknown(what, id, `${field}.${index}`);
    }
  };
  switch (kind) {
    case 'shifts':
      return;
    case 'safety':
      known(plant.characteristics, 'characteristic', record.characteristicIds, 'record.characteristicIds');
      return;
    case 'recipients':
      if (record.personId !== null && !plant.people.some(({ id }) => id === record.personId)) {
        throw unknown('person', record.personId, 'record.personId');
      }
      if (record.to.by === 'webhook' && /^[^?#]*\/\/[^/?#]*@/.test(record.to.url)) {
        throw unacceptable('record.to.url', 'must hold no name and password; messages are signed instead');
      }
      return;
    case 'rules':
      known(plant.lines, 'line', record.lineIds, 'record.lineIds');
      known(routing.shifts, 'shift', record.shiftIds, 'record.shiftIds');
      for (const [index, { recipientIds }] of record.steps.entries()) {
        known(routing.recipients, 'recipient', recipientIds, `record.steps.${index}.recipientIds`);
      }
  }
}
