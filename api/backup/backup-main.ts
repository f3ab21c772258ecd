/** Entry of `npm run backup`. */
import { join, resolve } from 'node:path';
import { parseArgs } from 'node:util';
import { shownArchive } from '../archive/archives-away.ts';
import { BackupProblem } from './backup-problem.ts';
import { takeBackup } from './take-backup.ts';

const help = `Takes a backup while the server goes on writing.

  npm run backup -- /mnt/backups      of the plant in DATA_DIR (or data/), or at DATABASE_URL

The backup is one file. It holds everything, the digests of passwords and keys as well: keep it where only
administrators can read it. Files that were uploaded and not yet imported are not part of it.
`;

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    file: { type: 'string' },
    json: { type: 'boolean', default: false },
    help: { type: 'boolean' },
  },
});
const [folder] = positionals;

if (values.help || folder === undefined) {
  process.stdout.write(help);
  if (!values.help) process.exitCode = 2;
} else {
  try {
    const source = {
      databaseAddress: process.env.DATABASE_URL || undefined,
      file: values.file ?? join(process.env.DATA_DIR || 'data', 'plant.sqlite'),
    };
    const { file, manifest } = await takeBackup(source, resolve(folder), Date.now());
    if (values.json) process.stdout.write(`${JSON.stringify({ file })}\n`);
    else {
      const tables = Object.entries(manifest.tables).filter(([, { rows }]) => rows > 0);
      for (const [name, { rows, digest }] of tables)
        process.stdout.write(`  ${name}: ${rows} rows, ${digest}\n`);
      process.stdout.write(`The backup is ${file}, compared with the plant row by row.\n`);
      for (const archive of manifest.archives ?? [])
        process.stdout.write(`Not in it: ${shownArchive(archive)}. Keep that archive with the backup.\n`);
    }
  } catch (error) {
    if (!(error instanceof BackupProblem) && (error as { code?: unknown }).code === undefined) throw error;
    process.stderr.write(`No backup was taken: ${(error as Error).message}\n`);
    process.exitCode = 1;
  }
}
