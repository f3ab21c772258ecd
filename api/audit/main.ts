import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { archivesAway, shownArchive } from '../archive/archives-away.ts';
import { openReadSql } from '../store/open-read-sql.ts';
import { archivedRows } from './archived-rows.ts';
import { type ChainHead, verifyChain } from './verify-chain.ts';

const help = `Verifies that no record was changed, removed or slipped in after it was stored.

  npm run verify                                 the plant in DATA_DIR (or data/), or at DATABASE_URL
  npm run verify -- --write-heads heads.json     and notes where each chain ends; keep the file elsewhere
  npm run verify -- --known-heads heads.json     and checks that all up to an earlier note is as it was
  npm run verify -- --archive folder             where old months were released into that archive; may be given again

Ends with code 0 where everything agrees, 1 where something does not.
`;

const { values } = parseArgs({
  options: {
    'write-heads': { type: 'string' },
    'known-heads': { type: 'string' },
    archive: { type: 'string', multiple: true },
    file: { type: 'string' },
    help: { type: 'boolean' },
  },
});

if (values.help) process.stdout.write(help);
else {
  const knownFile = values['known-heads'];
  const known: Record<string, ChainHead> =
    knownFile === undefined ? {} : JSON.parse(readFileSync(knownFile, 'utf8'));
  const file = values.file ?? join(process.env.DATA_DIR || 'data', 'plant.sqlite');
  const { sql, close } = await openReadSql(process.env.DATABASE_URL, file);
  const archived = new Map<string, Buffer>();
  for (const folder of values.archive ?? []) {
    for (const [name, digest] of await archivedRows(folder)) archived.set(name, digest);
  }
  let told = performance.now();
  const report = await verifyChain(sql, {
    knownHeads: new Map(Object.entries(known)),
    archived,
    onProgress: (entries) => {
      if (performance.now() - told < 1_000) return;
      told = performance.now();
      process.stderr.write(`${entries} entries so far\n`);
    },
  });
  const away = await archivesAway(sql);
  await close();
  const records = [...report.records].filter(([, count]) => count > 0);
  process.stdout.write(`${report.entries} entries in ${report.heads.size} chains\n`);
  for (const [table, count] of records) process.stdout.write(`  ${table}: ${count}\n`);
  for (const finding of report.findings.slice(0, 50)) process.stdout.write(`! ${finding}\n`);
  if (values.archive === undefined) {
    for (const archive of away) {
      process.stdout.write(
        `Old months are away: ${shownArchive(archive)}. Give its folder with --archive.\n`,
      );
    }
  }
  const { length } = report.findings;
  process.stdout.write(
    length === 0
      ? 'Everything agrees: no record was changed, removed or slipped in.\n'
      : `${length} places do not agree. Stop using this database for evidence, keep a copy as it is, and compare it with a backup.\n`,
  );
  const headsFile = values['write-heads'];
  if (headsFile !== undefined) {
    writeFileSync(headsFile, `${JSON.stringify(Object.fromEntries(report.heads), null, 2)}\n`);
    process.stdout.write(`The heads are in ${headsFile}. Keep it where this server cannot write.\n`);
  }
  if (length > 0) process.exitCode = 1;
}
