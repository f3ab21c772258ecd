/** Entry of `npm run restore`. */
import { resolve } from 'node:path';
import { parseArgs } from 'node:util';
import { shownArchive } from '../archive/archives-away.ts';
import { BackupProblem } from './backup-problem.ts';
import { restoreBackup } from './restore-backup.ts';

const help = `Restores a backup into an empty folder, after comparing its content with its manifest.

  npm run restore -- /mnt/backups/runtrue-20260301T120000Z.sqlite /srv/runtrue
  DATA_DIR=/srv/runtrue npm start
`;

const { values, positionals } = parseArgs({ allowPositionals: true, options: { help: { type: 'boolean' } } });
const [file, folder] = positionals;

if (values.help || file === undefined || folder === undefined) {
  process.stdout.write(help);
  if (!values.help) process.exitCode = 2;
} else {
  try {
    const {
      takenAt,
      tables,
      archives = [],
    } = await restoreBackup(resolve(file), resolve(folder), 'plant.sqlite');
    const rows = Object.values(tables).reduce((sum, table) => sum + table.rows, 0);
    process.stdout.write(
      `Restored the plant of ${takenAt} into ${resolve(folder)}: ${rows} rows in ${Object.keys(tables).length} tables, all as the manifest says.\n` +
        'Everybody signs in anew. People, passwords and keys are as they were then: look through them before others reach the server.\n',
    );
    for (const archive of archives) {
      process.stdout.write(
        `Not in the backup: ${shownArchive(archive)}. Before the server starts, read them back from where that archive is now:\n` +
          `  DATA_DIR=${resolve(folder)} npm run archive -- --read ${archive.folder}\n`,
      );
    }
  } catch (error) {
    if (!(error instanceof BackupProblem) && (error as { code?: unknown }).code === undefined) throw error;
    process.stderr.write(`Nothing was restored: ${(error as Error).message}\n`);
    process.exitCode = 1;
  }
}
