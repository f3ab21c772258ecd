/** Entry of `npm run verify`. */
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { z } from '@hono/zod-openapi';
import { archivesAway, shownArchive } from '../archive/archives-away.ts';
import { CommandProblem } from '../console/command-problem.ts';
import { runCommand } from '../console/run-command.ts';
import { openReadSql } from '../store/open-read-sql.ts';
import { archivedRows } from './archived-rows.ts';
import { type ChainHead, verifyChain } from './verify-chain.ts';

const help = `Verifies that no record was changed, removed or slipped in after it was stored.

  npm run verify                                 the plant in DATA_DIR (or data/), or at DATABASE_URL
  npm run verify -- --write-heads heads.json     and notes where each chain ends; keep the file elsewhere
  npm run verify -- --known-heads heads.json     and checks that all up to an earlier note is as it was
  npm run verify -- --archive folder             where old months were released into that archive; may be given again

Ends with code 0 where everything agrees, 1 where something does not, 2 where it could not be verified.
`;

const Heads = z.record(z.string(), z.strictObject({ no: z.number(), digest: z.string() }));

/** Where the chains ended once, as noted then. */
function readHeads(file: string): ReadonlyMap<string, ChainHead> {
  try {
    return new Map(Object.entries(Heads.parse(JSON.parse(readFileSync(file, 'utf8')))));
  } catch (error) {
    const { code } = error as { code?: string };
    const why = code === undefined ? 'it holds no heads' : `it cannot be read, ${code}`;
    throw new CommandProblem(
      `--known-heads must name a file that --write-heads wrote earlier, not ${file} (${why}).`,
    );
  }
}

function writeHeads(file: string, heads: ReadonlyMap<string, ChainHead>): void {
  try {
    writeFileSync(file, `${JSON.stringify(Object.fromEntries(heads), null, 2)}\n`);
  } catch (error) {
    const { code } = error as { code?: string };
    throw new CommandProblem(
      `The heads could not be written to ${file} (${code}); name a file in a folder that this user can write.`,
    );
  }
  process.stdout.write(`The heads are in ${file}. Keep it where this server cannot write.\n`);
}

await runCommand(
  {
    name: 'verify',
    help,
    options: {
      'write-heads': { type: 'string' },
      'known-heads': { type: 'string' },
      archive: { type: 'string', multiple: true },
      file: { type: 'string' },
    },
    words: { least: 0, most: 0 },
    // 1 would say that something does not agree.
    undoneCode: 2,
  },
  async (values) => {
    const knownFile = values['known-heads'];
    const known = knownFile === undefined ? new Map<string, ChainHead>() : readHeads(knownFile);
    const file = values.file ?? join(process.env.DATA_DIR || 'data', 'plant.sqlite');
    const { sql, close } = await openReadSql(process.env.DATABASE_URL, file);
    const archived = new Map<string, Buffer>();
    for (const folder of values.archive ?? []) {
      for (const [name, digest] of await archivedRows(folder)) archived.set(name, digest);
    }
    let told = performance.now();
    const report = await verifyChain(sql, {
      knownHeads: known,
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
    if (length > 0) process.exitCode = 1;
    const headsFile = values['write-heads'];
    if (headsFile !== undefined) writeHeads(headsFile, report.heads);
  },
);
