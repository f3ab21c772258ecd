import { execFile } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { ProblemError } from '../problem.ts';

export interface Backups {
  /** Takes one; whoever asked calls `done` when it was sent. */
  take(): Promise<{ readonly file: string; readonly done: () => void }>;
}

/**
 * Backups for the API. Each is taken by a process of its own, the same as `npm run backup`, so that reading and
 * comparing the whole plant holds up nobody. One at a time.
 */
export function createBackups({
  programFile,
  databaseFile,
  databaseAddress,
  folder,
}: {
  /** The built entry of `npm run backup`. */
  readonly programFile: string;
  readonly databaseFile: string;
  readonly databaseAddress: string | undefined;
  /** Where a backup lies until it is sent; emptied now. */
  readonly folder: string;
}): Backups {
  rmSync(folder, { recursive: true, force: true });
  let busy = false;
  return {
    async take() {
      if (busy) {
        const message = 'Another backup is being taken or sent; try again when it is done.';
        throw new ProblemError(409, 'Backup under way', message, [{ field: 'path', message }]);
      }
      busy = true;
      let target: string | null = null;
      const done = (): void => {
        if (target !== null) rmSync(target, { recursive: true, force: true });
        busy = false;
      };
      try {
        mkdirSync(folder, { recursive: true });
        target = mkdtempSync(join(folder, 'backup-'));
        const words = [programFile, '--json', '--file', databaseFile, target];
        const printed = await new Promise<string>((resolve, failed) => {
          const env = { ...process.env, DATABASE_URL: databaseAddress ?? '' };
          execFile(process.execPath, words, { env }, (error, stdout, stderr) => {
            if (error === null) resolve(stdout);
            else failed(new Error(stderr.trim() || error.message));
          });
        });
        return { file: (JSON.parse(printed) as { file: string }).file, done };
      } catch (error) {
        done();
        const { message } = error as Error;
        throw new ProblemError(
          503,
          'No backup',
          `${message.slice(0, 500).replace(/\.?$/, '.')} Look at the disk of the server.`,
        );
      }
    },
  };
}
