import type { ClientBase } from 'pg';
import { advisoryKey } from './postgres-locks.ts';
import { addReference, filterByPlant } from './postgres-plant-key.ts';
import type { Reference } from './postgres-references.ts';

/** A table whose rows lie in a partition for each month. */
export interface PartitionedTable {
  readonly name: string;
  /** The time that decides on the month. */
  readonly time: string;
  /** Its primary key in one table; a partitioned one has the time in it as well. */
  readonly key: string;
  /** A column that counts up. */
  readonly counted: string | null;
  /** The narrow table that holds each id once over all months, and what it holds. */
  readonly ids: { readonly name: string; readonly columns: string; readonly key: string } | null;
}

export const partitionedTables: readonly PartitionedTable[] = [
  {
    name: 'samples',
    time: 'taken_at',
    key: 'no',
    counted: 'no',
    ids: { name: 'sample_ids', columns: 'no, id, taken_at', key: 'no' },
  },
  {
    name: 'sample_revisions',
    time: 'taken_at',
    key: 'sample_no, revision',
    counted: null,
    ids: { name: 'revision_ids', columns: 'id, sample_no, revision, taken_at', key: 'sample_no, revision' },
  },
  { name: 'signals', time: 'taken_at', key: 'id', counted: 'id', ids: null },
  {
    name: 'events',
    time: 'at',
    key: 'no',
    counted: 'no',
    ids: { name: 'event_ids', columns: 'no, id, at', key: 'no' },
  },
];

// References between tables, without the plant that each has in front.
const referencesOf = `select conrelid::regclass::text as "table", confrelid::regclass::text as target,
    ${columnsOf('conkey', 'conrelid')} as columns, ${columnsOf('confkey', 'confrelid')} as "targetColumns", '' as action
  from pg_constraint where contype = 'f' and (confrelid = $1::regclass or conrelid = $1::regclass)`;

function columnsOf(key: string, table: string): string {
  return `(select string_agg(attname, ', ' order by place) from unnest(${key}) with ordinality as key (number, place)
    join pg_attribute on attrelid = ${table} and attnum = number where attname <> 'plant')`;
}

/** A reference between tables as the schema states it; to and from partitioned ones in the way that works there. */
export async function makeReference(
  client: ClientBase,
  reference: Reference,
  isPartitioned: boolean,
): Promise<void> {
  const named = (table: string) => partitionedTables.find(({ name }) => name === table);
  const ids = isPartitioned ? named(reference.target)?.ids : undefined;
  const target = ids?.name ?? reference.target;
  if (isPartitioned && named(reference.table)) await checkReference(client, { ...reference, target });
  else await addReference(client, { ...reference, target });
}

/**
 * Gives samples, corrections, signals and events a partition for each month, in place of one table each. Written
 * for tables that are still empty.
 */
export async function partitionByMonth(client: ClientBase): Promise<void> {
  const references = new Map<string, Reference>();
  for (const { name } of partitionedTables) {
    for (const reference of (await client.query<Reference>(referencesOf, [name])).rows) {
      references.set(`${reference.table} ${reference.columns}`, reference);
    }
  }
  for (const table of partitionedTables) await partition(client, table);
  for (const reference of references.values()) await makeReference(client, reference, true);
  await client.query(`
    -- Counted along with what is stored: counting ten million rows would take a second.
    create table sample_counts (
      stream_id text not null primary key, samples bigint not null
    );
    -- Not called any more: the query in it was planned anew each time, which took longer than all the rest of a sample.
    create function begin_writing(plant_key bigint, alone boolean, stream_keys bigint[], streams text[])
    returns table (revision bigint, sample_no bigint, stream text, no bigint, digest bytea) language plpgsql as $$
      declare
        key bigint;
      begin
        if alone then perform pg_advisory_xact_lock(plant_key);
        else perform pg_advisory_xact_lock_shared(plant_key);
        end if;
        foreach key in array stream_keys loop
          perform pg_advisory_xact_lock(key);
        end loop;
        return query
          select (select coalesce(max(plant_changes.no), 0) from plant_changes), nextval('samples_no_seq'),
            named.name, head.no, head.digest
          from unnest(array_append(streams, null)) as named (name)
          left join lateral (
            select audit_entries.no, audit_entries.digest from audit_entries
            where audit_entries.chain = named.name order by audit_entries.no desc limit 1
          ) head on true;
      end
    $$`);
}

async function partition(client: ClientBase, table: PartitionedTable): Promise<void> {
  const { name, time, key, counted, ids } = table;
  const { rows: indexes } = await client.query<{ text: string }>(
    `select pg_get_indexdef(indexrelid) as text from pg_index where indrelid = $1::regclass and not indisunique`,
    [name],
  );
  await client.query(`
    alter table ${name} rename to ${name}_whole;
    create table ${name} (like ${name}_whole including defaults) partition by range (${time});
    drop table ${name}_whole cascade;
    alter table ${name} add primary key (plant, ${key}, ${time});`);
  if (counted !== null) {
    await client.query(`
      create sequence ${name}_${counted}_seq owned by ${name}.${counted};
      alter table ${name} alter column ${counted} set default nextval('${name}_${counted}_seq');`);
  }
  for (const { text } of indexes) {
    // An index of the whole table is named with "ONLY" nowhere; it is made again on each partition.
    await client.query(text.replaceAll(`${name}_whole`, name));
  }
  if (ids === null) return;
  const columns = ids.columns.split(', ');
  await client.query(`
    create table ${ids.name} (like ${name} including defaults);
    ${await dropOthers(client, name, ids.name, ['plant', ...columns])}
    alter table ${ids.name} add primary key (plant, ${ids.key});
    create unique index ${ids.name}_by_id on ${ids.name} (plant, id) include (${columns.filter((column) => column !== 'id').join(', ')});
    -- Written with the row itself. Where the very row was there before, it comes back from an archive.
    create function place_${name}() returns trigger language plpgsql as $$
      begin
        insert into ${ids.name} (plant, ${ids.columns}) values (new.plant, ${columns.map((column) => `new.${column}`).join(', ')})
        on conflict (plant, ${ids.key}) do nothing;
        return null;
      end
    $$;
    create trigger place after insert on ${name} for each row execute function place_${name}();`);
}

async function dropOthers(
  client: ClientBase,
  from: string,
  table: string,
  kept: readonly string[],
): Promise<string> {
  const { rows } = await client.query<{ name: string }>(
    `select attname as name from pg_attribute
     where attrelid = $1::regclass and attnum > 0 and not attisdropped and attname <> all ($2)`,
    [from, kept],
  );
  return `alter table ${table} ${rows.map(({ name }) => `drop column ${name}`).join(', ')};`;
}

/**
 * The reference of a partitioned table, as a trigger: a foreign key would lock the table that it points to whenever
 * a partition is made, until everybody who writes has finished.
 */
async function checkReference(
  client: ClientBase,
  { table, columns: column, target, targetColumns: key }: Reference,
): Promise<void> {
  await client.query(`
    create function check_${column}_of_${table}() returns trigger language plpgsql as $$
      begin
        if not exists (select 1 from ${target} where plant = new.plant and ${key} = new.${column}) then
          raise foreign_key_violation using message = '${table}.${column} must name a row of ${target}';
        end if;
        return new;
      end
    $$;
    create trigger check_${column} before insert on ${table} for each row when (new.${column} is not null)
      execute function check_${column}_of_${table}();`);
}

export interface Month {
  /** 2025_09 */
  readonly name: string;
  readonly from: number;
  /** Not included. */
  readonly to: number;
}

/** The month of a moment, in UTC. */
export function monthOf(time: number): Month {
  const date = new Date(time);
  const [year, month] = [date.getUTCFullYear(), date.getUTCMonth()];
  const name = `${String(year).padStart(4, '0')}_${String(month + 1).padStart(2, '0')}`;
  return { name, from: beginOf(year, month), to: beginOf(year, month + 1) };
}

/** The month of such a name. */
export function monthNamed(name: string): Month {
  const [year, month] = name.split('_').map(Number);
  return monthOf(beginOf(year!, month! - 1));
}

// Date.UTC takes the years 0 to 99 for those of the twentieth century.
const beginOf = (year: number, month: number): number => new Date(0).setUTCFullYear(year, month, 1);

/** Makes the partitions of a month where they are missing; nobody who writes has to wait. */
export async function makeMonth(client: ClientBase, { name, from, to }: Month): Promise<void> {
  await client.query('begin');
  try {
    await client.query('select pg_advisory_xact_lock($1)', [advisoryKey('partitions')]);
    for (const { name: table } of partitionedTables) {
      const part = `${table}_${name}`;
      const { rows } = await client.query<{ there: number | null }>(
        'select to_regclass($1)::oid::bigint as there',
        [part],
      );
      if (rows[0]!.there !== null) continue;
      await client.query(`create table ${part} (like ${table} including defaults)`);
      await filterByPlant(client, part);
      await client.query(
        `alter table ${table} attach partition ${part} for values from (${from}) to (${to})`,
      );
    }
    await client.query('commit');
  } catch (error) {
    await client.query('rollback');
    throw error;
  }
}
