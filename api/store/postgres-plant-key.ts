import type { ClientBase } from 'pg';
import type { Reference } from './postgres-references.ts';

/** Number of the plant that this connection is for. */
export const PLANT_SETTING = 'runtrue.plant';
const thePlant = `current_setting('${PLANT_SETTING}')::integer`;

/** Tables that belong to the database, not to a plant. */
const ofTheDatabase = ['schema_version'];

/** Ordinary and partitioned tables, not the partitions. */
const tables = `select oid, relname as name from pg_class
  where relnamespace = current_schema()::regnamespace and relkind in ('r', 'p') and not relispartition
  and relname <> all ($1) order by relname`;

async function names(
  client: ClientBase,
  sql: string,
  oid: number,
): Promise<{ name: string; text: string }[]> {
  return (await client.query<{ name: string; text: string }>(sql, [oid])).rows;
}

// Keys and indexes that do not begin with the plant.
const keys = `select conname as name,
    case contype when 'p' then 'primary key' else 'unique' end || ' (plant, '
    || (select string_agg(attname, ', ' order by place) from unnest(conkey) with ordinality as key (number, place)
        join pg_attribute on attrelid = conrelid and attnum = number) || ')' as text
  from pg_constraint where conrelid = $1 and contype in ('p', 'u')
  and (select attname from pg_attribute where attrelid = conrelid and attnum = conkey[1]) <> 'plant'`;
const indexes = `select relname as name, pg_get_indexdef(indexrelid) as text
  from pg_index join pg_class on pg_class.oid = indexrelid
  where indrelid = $1 and not exists (select 1 from pg_constraint where conindid = indexrelid)
  and (select attname from pg_attribute where attrelid = indrelid and attnum = indkey[0]) is distinct from 'plant'`;
const foreignTexts = `select attname as name, '' as text from pg_attribute
  where attrelid = $1 and attnum > 0 and not attisdropped and atttypid = 'text'::regtype
  and attcollation <> (select oid from pg_collation where collname = 'C' and collnamespace = 'pg_catalog'::regnamespace)`;

/**
 * Puts every table that a step has made or changed under the plant: the plant stands first in every key and index,
 * is filled in from the connection, and filters whatever the connection reads or writes, so that no query needs to
 * mention it. Texts sort by their bytes, as in the other engine.
 */
export async function putUnderPlant(client: ClientBase): Promise<void> {
  const { rows } = await client.query<{ oid: number; name: string }>(tables, [ofTheDatabase]);
  for (const { oid, name: table } of rows) {
    const columns = await names(
      client,
      `select attname as name, '' as text from pg_attribute where attrelid = $1 and attname = 'plant'`,
      oid,
    );
    if (columns.length === 0) {
      await client.query(`alter table ${table} add column plant integer not null default ${thePlant}`);
    }
    for (const { name } of await names(client, foreignTexts, oid)) {
      await client.query(`alter table ${table} alter column ${name} type text collate "C"`);
    }
    for (const { name, text } of await names(client, keys, oid)) {
      await client.query(`alter table ${table} drop constraint ${name}, add constraint ${name} ${text}`);
    }
    for (const { name, text } of await names(client, indexes, oid)) {
      await client.query(`drop index ${name}`);
      await client.query(text.replace(/ USING (\w+) \(/, ' USING $1 (plant, '));
    }
    await filterByPlant(client, table);
  }
}

export async function filterByPlant(client: ClientBase, table: string): Promise<void> {
  const { rows } = await client.query(`select 1 from pg_policy where polrelid = $1::regclass`, [table]);
  if (rows.length === 0) {
    await client.query(`create policy of_plant on ${table} using (plant = ${thePlant})`);
  }
  // Forced: it holds for the owner of the table as well, and that is who the server is.
  await client.query(`alter table ${table} enable row level security, force row level security`);
}

/** While a schema is changed, its owner reaches the rows of all plants. */
export async function unfilter(client: ClientBase): Promise<void> {
  const { rows } = await client.query<{ name: string }>(tables, [ofTheDatabase]);
  for (const { name } of rows) await client.query(`alter table ${name} no force row level security`);
}

const withPlant = (columns: string): string => `plant, ${columns}`;

export async function addReference(client: ClientBase, reference: Reference): Promise<void> {
  const { table, columns, target, targetColumns, action } = reference;
  await client.query(
    `alter table ${table} add foreign key (${withPlant(columns)})
     references ${target} (${withPlant(targetColumns)}) ${action}`,
  );
}
