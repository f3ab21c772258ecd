/** The small plant with people, shifts, recipients and rules, and samples that make alarms. */
import { randomUUID } from 'node:crypto';
import { createMonitoring, type Monitoring } from '../../api/monitoring/monitoring.ts';
import { createChangeFeed } from '../../api/notify/change-feed.ts';
import { createRouter } from '../../api/routing/route-alarms.ts';
import { type RoutingRecord, saveRoutingRecord } from '../../api/routing/routing-records.ts';
import type { Recipient, RoutingRule } from '../../api/schemas.ts';
import { freezeGiven, minutes, openTestPlant, type TestPlant, widths } from '../api/test-plant.ts';
import { newDatabase } from '../store/engines.ts';

export { minutes, morning } from '../api/test-plant.ts';
export const tech = { personId: 'tech', door: 'page', how: 'named' } as const;

export interface NotifyPlant extends TestPlant {
  monitoring: Monitoring;
  save(record: RoutingRecord): Promise<void>;
  /** A sample with a mean far outside the control limits, inside the drawing. */
  signal(streamId?: string): Promise<number>;
  /** A sample with pieces outside the drawing. */
  outside(): Promise<number>;
}

export async function openNotifyPlant({
  pageAddress = 'https://runtrue.example',
  topicPrefix = null as string | null,
  database = newDatabase(),
} = {}): Promise<NotifyPlant> {
  const plant = await openTestPlant(database);
  const feed = createChangeFeed();
  const router = createRouter({ pageAddress, topicPrefix });
  const monitoring = createMonitoring({ store: plant.store, clock: plant.clock, feed, router });
  await freezeGiven(plant);
  const take = async (mean: number): Promise<number> => {
    const { answer } = await monitoring.accept(widths(mean, plant.clock.time, { id: randomUUID() }), tech);
    return answer.alarmId!;
  };
  return Object.assign(plant, {
    monitoring,
    save: (record: RoutingRecord) =>
      plant.store.transaction((transaction) =>
        saveRoutingRecord(transaction, record, 'for this test', 'engineer', plant.clock.time),
      ),
    signal: () => take(127.5),
    outside: () => take(127.95),
  });
}

export const mailTo = (id: string, personId: string | null = null): RoutingRecord => ({
  kind: 'recipients',
  record: { id, name: id, personId, to: { by: 'mail', address: `${id}@plant.example` } },
});

export const reach = (id: string, to: Recipient['to'], personId: string | null = null): RoutingRecord => ({
  kind: 'recipients',
  record: { id, name: id, personId, to },
});

export const rule = (changes: Partial<RoutingRule> = {}): RoutingRecord => ({
  kind: 'rules',
  record: {
    id: 'all',
    name: 'Everything',
    active: true,
    lineIds: [],
    shiftIds: [],
    severities: ['safety', 'product', 'process'],
    groupMinutes: 15,
    steps: [{ afterMinutes: 0, recipientIds: ['first'] }],
    ...changes,
  },
});

/** Which messages have been written: recipient and subject, oldest first. */
export async function written(plant: NotifyPlant): Promise<[string | null, string][]> {
  const rows = await plant.store.sql.all<{ recipientId: string | null; subject: string }>(
    'select recipient_id as "recipientId", subject from deliveries order by no',
  );
  return rows.map(({ recipientId, subject }) => [recipientId, subject]);
}

export const later = (plant: NotifyPlant, count: number): void => {
  plant.clock.time += minutes(count);
};
