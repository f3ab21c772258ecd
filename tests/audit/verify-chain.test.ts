import { randomUUID } from 'node:crypto';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { adoptRecords } from '../../api/audit/adopt-records.ts';
import {
  type ChainedTable,
  type ChainedTableName,
  chainedTables,
  type StoredValue,
} from '../../api/audit/chained-tables.ts';
import { verifyChain } from '../../api/audit/verify-chain.ts';
import { openReadSql } from '../../api/store/open-read-sql.ts';
import type { StoreTransaction } from '../../api/store/store.ts';
import { uuidBytes } from '../../api/store/uuid.ts';
import {
  engineer,
  event,
  freezeGiven,
  minutes,
  morning,
  openTestPlant,
  readingsAbout,
  type TestPlant,
  take,
  tech,
} from '../api/test-plant.ts';

const iso = (time: number) => new Date(time).toISOString();
const tables = Object.keys(chainedTables) as ChainedTableName[];
const definition = (table: ChainedTableName): ChainedTable => chainedTables[table];

let plant: TestPlant;
let outside: Database.Database;
beforeEach(async () => {
  plant = await openTestPlant();
  outside = new Database(plant.file);
  outside.pragma('foreign_keys = OFF');
  await haveADay();
});
afterEach(async () => {
  outside.close();
  await plant.close();
});

/** Something in every table: a signal that a correction withdraws, pieces outside the drawing, a stoppage that ends. */
async function haveADay(): Promise<void> {
  await freezeGiven(plant);
  const shifted = await take(plant, 127.6, morning);
  await plant.monitoring.correct(
    shifted.sampleId,
    { id: randomUUID(), revision: 1, reason: 'Wrong gauge', readings: readingsAbout(127) },
    tech,
  );
  const bad = await take(plant, 128.2, morning + minutes(60));
  await plant.monitoring.correct(
    bad.sampleId,
    { id: randomUUID(), revision: 1, reason: 'One digit', readings: readingsAbout(128.3) },
    tech,
  );
  const [alarm] = await plant.store.alarms({ open: true, limit: 1 });
  await plant.monitoring.addAlarmEntry(alarm!.id, { id: randomUUID(), kind: 'acknowledged' }, tech);
  const stoppage = event({ kind: 'stoppage', text: 'Jam' });
  await plant.monitoring.recordEvent(stoppage, tech);
  await plant.store.transaction(async (transaction) => {
    await transaction.endEvent(stoppage.id, morning + minutes(70), 'tech', morning + minutes(70));
    await transaction.addNote({
      at: morning,
      personId: 'tech',
      what: 'signed in',
      about: 'tech',
      detail: { station: 'R1-RIM' },
    });
    await addHandoverAndConcession(transaction, alarm!.id);
  });
  // The second change overtakes the first one.
  for (const kind of ['tool change', 'changeover'] as const) {
    await plant.monitoring.recordEvent(event({ kind, modelId: kind === 'changeover' ? 'Q10' : null }), tech);
  }
  await plant.monitoring.declareMissed(
    { streamId: 'width', dueAt: iso(morning - minutes(90)), reason: 'Gauge away' },
    engineer,
  );
}

async function addHandoverAndConcession(transaction: StoreTransaction, alarmId: number): Promise<void> {
  const own = (personId: string) => ({ id: uuidBytes(randomUUID()), person_id: personId, at: morning });
  const handover = { ...own('tech'), open: '{}', words: 'Watch the welder.' };
  const handover_no = await transaction.addNumbered('handovers', handover);
  const end = { ...own('engineer'), handover_no, kind: 'taken', words: '', opened_since: '[]' };
  await transaction.addNumbered('handover_ends', end);
  const concession_no = await transaction.addNumbered('concessions', {
    ...own('engineer'),
    alarm_id: alarmId,
    customer: 'Customer 1',
    consent_document: 'Letter 7',
    consented_by: 'Their quality desk',
    consented_on: '2025-09-03',
    quantity: 620,
    expires_on: '2025-10-31',
    expires_at: morning + minutes(60_000),
    reason: 'Width has no function there.',
  });
  const released = { ...own('engineer'), concession_no, kind: 'released', quantity: 400, text: 'Trolley 4' };
  await transaction.addNumbered('concession_entries', released);
}

async function findings(knownHeads?: Parameters<typeof verifyChain>[1]) {
  const { sql, close } = await openReadSql(undefined, plant.file);
  const report = await verifyChain(sql, knownHeads);
  await close();
  return report;
}

const rowsOf = (table: ChainedTableName): Record<string, StoredValue>[] => {
  const { columns, from = table, where } = definition(table);
  return outside
    .prepare(`select ${columns.join(', ')} from ${from} ${where === undefined ? '' : `where ${where}`}`)
    .all() as Record<string, StoredValue>[];
};

/** Another value of the same type. */
const other = (value: StoredValue, column: string): StoredValue =>
  value === null
    ? column === 'id'
      ? Buffer.alloc(16, 7)
      : '7'
    : typeof value === 'number'
      ? value + 1_000_000
      : typeof value === 'string'
        ? `${value} `
        : Buffer.from(value.map((byte) => byte ^ 1));

describe('the chain of digests', () => {
  it('agrees with an untouched plant and has something of every table', async () => {
    const report = await findings();
    expect(report.findings).toEqual([]);
    expect([...report.records].filter(([, count]) => count === 0)).toEqual([]);
    expect([...report.heads.keys()]).toEqual(['', 'width']);
  });

  it('still agrees after a restart and further work', async () => {
    await plant.reopen();
    await take(plant, 127.1, morning + minutes(120));
    const report = await findings();
    expect(report.findings).toEqual([]);
  });

  it('leaves nothing of a transaction that failed', async () => {
    const before = await findings();
    const failing = plant.store.transaction(async (transaction) => {
      await transaction.addNote({ at: 1, personId: null, what: 'x', about: 'x', detail: null });
      throw new Error('fails');
    });
    await expect(failing).rejects.toThrow('fails');
    await take(plant, 127.1, morning + minutes(120));
    const report = await findings();
    expect(report.findings).toEqual([]);
    expect(report.entries).toBe(before.entries + 1);
  });

  it.each(tables)('notices each changed value of %s, and each removed row', async (table) => {
    const { columns, key, from = table } = definition(table);
    const rows = rowsOf(table);
    expect(rows.length).toBeGreaterThan(0);
    const [row] = rows;
    const condition = key.map((column) => `${column} = ?`).join(' and ');
    const keys = key.map((column) => row![column]);
    for (const column of columns) {
      outside
        .prepare(`update ${from} set ${column} = ? where ${condition}`)
        .run(other(row![column]!, column), ...keys);
      const { findings: found } = await findings();
      expect(found, `${table}.${column}`).not.toEqual([]);
      // Put back under the key that it has now.
      const changed = key.map((name) => (name === column ? other(row![name]!, name) : row![name]));
      outside.prepare(`update ${from} set ${column} = ? where ${condition}`).run(row![column], ...changed);
    }
    expect((await findings()).findings).toEqual([]);
    outside.prepare(`delete from ${from} where ${condition}`).run(...keys);
    expect((await findings()).findings).not.toEqual([]);
  });

  it('notices a row that was slipped in', async () => {
    outside.exec(`insert into missed_samples values ('width', ${morning - minutes(150)}, 'x', 'tech', 1)`);
    expect((await findings()).findings).toEqual([
      'The table missed_samples holds 1 records more than the entries speak of.',
    ]);
  });

  it('notices an entry that was changed, removed or put elsewhere', async () => {
    const last = outside.prepare("select max(no) as no from audit_entries where chain = 'width'").get() as {
      no: number;
    };
    for (const sql of [
      `update audit_entries set records = records || ' samples:1' where chain = 'width' and no = 2`,
      `update audit_entries set digest = zeroblob(32) where chain = 'width' and no = 2`,
      `delete from audit_entries where chain = 'width' and no = 2`,
      `update audit_entries set chain = 'force' where chain = 'width' and no = 1`,
      `update audit_entries set no = ${last.no + 1} where chain = 'width' and no = 2`,
    ]) {
      outside.exec(`begin; ${sql}`);
      // A reader of its own does not see what is not committed.
      outside.exec('savepoint x');
      const { SqliteSql } = await import('../../api/store/sqlite-sql.ts');
      const report = await verifyChain(new SqliteSql(outside));
      expect(report.findings, sql).not.toEqual([]);
      outside.exec('rollback');
    }
    expect((await findings()).findings).toEqual([]);
  });

  it('tells by heads noted elsewhere that the newest records were removed, or all calculated anew', async () => {
    const { heads } = await findings();
    await take(plant, 127.1, morning + minutes(120));
    expect((await findings({ knownHeads: heads })).findings).toEqual([]);

    await take(plant, 127.1, morning + minutes(180));
    const noted = (await findings()).heads;
    outside.exec(`delete from samples where no = (select max(no) from samples);
      delete from audit_entries where chain = 'width' and no = (select max(no) from audit_entries where chain = 'width')`);
    expect((await findings()).findings).toEqual([]);
    expect((await findings({ knownHeads: noted })).findings).toHaveLength(1);

    outside.exec('delete from audit_entries');
    outside.exec("update samples set note = 'changed'");
    await plant.reopen();
    await adoptRecords(plant.store);
    expect((await findings()).findings).toEqual([]);
    expect((await findings({ knownHeads: heads })).findings).not.toEqual([]);
  });

  it('takes in what was recorded before there was a chain', async () => {
    outside.exec('delete from audit_entries');
    await plant.reopen();
    expect((await findings()).findings).not.toEqual([]);
    await adoptRecords(plant.store);
    await take(plant, 127.1, morning + minutes(120));
    const report = await findings();
    expect(report.findings).toEqual([]);
    expect(report.records.get('samples')).toBe(3);
  });
});
