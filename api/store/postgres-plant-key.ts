import type { ClientBase } from 'pg';
import type { Reference } from './postgres-references.ts';

/** Number of the plant that this connection is for. */
export const PLANT_SETTING = 'runtrue.plant';
const thePlant = `current_setting('${PLANT_SETTING}')::integer`;

/** Tables that belong to the database, not to a plant. */
const ofTheDatabase = ['schema_version'];

// Ordinary and partitioned tables, not the partitions.
const ofThePlant = `relnamespace = current_schema()::regnamespace and relkind in ('r', 'p') and not relispartition
  and relname not in (${ofTheDatabase.map((name) => `'${name}'`).join(', ')})`;

const withoutPlant = `select relname as "table" from pg_class where ${ofThePlant}
  and not exists (select 1 from pg_attribute where attrelid = pg_class.oid and attname = 'plant')`;
const foreignTexts = `select relname as "table", attname as name from pg_class join pg_attribute on attrelid = pg_class.oid
  where ${ofThePlant} and attnum > 0 and not attisdropped and atttypid = 'text'::regtype
  and attcollation <> (select oid from pg_collation where collname = 'C' and collnamespace = 'pg_catalog'::regnamespace)`;
const otherKeys = `select relname as "table", conname as name,
    case contype when 'p' then 'primary key' else 'unique' end || ' (plant, '
    || (select string_agg(attname, ', ' order by place) from unnest(conkey) with ordinality as key (number, place)
        join pg_attribute on attrelid = conrelid and attnum = number) || ')' as text
  from pg_constraint join pg_class on pg_class.oid = conrelid where ${ofThePlant} and contype in ('p', 'u')
  and (select attname from pg_attribute where attrelid = conrelid and attnum = conkey[1]) <> 'plant'`;
const otherIndexes = `select indexrelid::regclass::text as name, pg_get_indexdef(indexrelid) as text
  from pg_index join pg_class on pg_class.oid = indrelid where ${ofThePlant}
  and not exists (select 1 from pg_constraint where conindid = indexrelid)
  and (select attname from pg_attribute where attrelid = indrelid and attnum = indkey[0]) is distinct from 'plant'`;

/**
 * Puts every table that a step has made or changed under the plant: the plant stands first in every key and index,
 * and is filled in from the connection. Texts sort by their bytes, as in the other engine.
 */
export async function putUnderPlant(client: ClientBase): Promise<void> {
  const each = async (query: string, statement: (row: Record<string, string>) => string): Promise<void> => {
    const { rows } = await client.query<Record<string, string>>(query);
    if (rows.length > 0) await client.query(rows.map(statement).join(';\n'));
  };
  await each(
    withoutPlant,
    ({ table }) => `alter table ${table} add column plant integer not null default ${thePlant}`,
  );
  await each(
    foreignTexts,
    ({ table, name }) => `alter table ${table} alter column ${name} type text collate "C"`,
  );
  await each(
    otherKeys,
    ({ table, name, text }) => `alter table ${table} drop constraint ${name}, add constraint ${name} ${text}`,
  );
  await each(
    otherIndexes,
    ({ name, text }) => `drop index ${name}; ${text!.replace(/ USING (\w+) \(/, ' USING $1 (plant, ')}`,
  );
}

/**
 * Filters whatever a connection reads or writes by its plant, so that no query needs to mention it. Forced: it holds
 * for the owner of the table as well, and that is who the server is.
 */
const filtering = (table: string): string =>
  `create policy of_plant on ${table} using (plant = ${thePlant});
   alter table ${table} enable row level security, force row level security`;

export async function filterByPlant(client: ClientBase, table: string): Promise<void> {
  await client.query(filtering(table));
}

/** All tables; where the filter was taken off it is put on again. */
export async function filterAllByPlant(client: ClientBase): Promise<void> {
  const { rows } = await client.query<{ table: string; known: number }>(
    `select relname as "table", exists (select 1 from pg_policy where polrelid = pg_class.oid) as known
     from pg_class where ${ofThePlant} and not (relrowsecurity and relforcerowsecurity)`,
  );
  const statements = rows.map(({ table, known }) =>
    known === 1 ? `alter table ${table} force row level security` : filtering(table),
  );
  if (statements.length > 0) await client.query(statements.join(';\n'));
}

/** While a schema is changed, its owner reaches the rows of all plants. */
export async function unfilter(client: ClientBase): Promise<void> {
  const { rows } = await client.query<{ table: string }>(
    `select relname as "table" from pg_class where ${ofThePlant}`,
  );
  const statements = rows.map(({ table }) => `alter table ${table} no force row level security`);
  if (statements.length > 0) await client.query(statements.join(';\n'));
}

const withPlant = (columns: string): string => `plant, ${columns}`;

export async function addReference(client: ClientBase, reference: Reference): Promise<void> {
  const { table, columns, target, targetColumns, action } = reference;
  await client.query(
    `alter table ${table} add foreign key (${withPlant(columns)})
     references ${target} (${withPlant(targetColumns)}) ${action}`,
  );
}
