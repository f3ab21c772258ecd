/**
 * One test runs the documented nginx example. Installs nginx where this is Debian and we may; elsewhere the test is
 * left out, and says so.
 */
import { spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';

const run = (command, args) => spawnSync(command, args, { stdio: 'inherit' }).status === 0;
const isThere = (command, args) => spawnSync(command, args, { stdio: 'ignore' }).error === undefined;
const ready = () => isThere('nginx', ['-v']) && isThere('openssl', ['version']);

if (!ready() && process.getuid?.() === 0 && existsSync('/usr/bin/apt-get')) {
  console.log('The test of the reverse proxy needs nginx and openssl; installing them.');
  const quiet = ['-qq', '-o=Dpkg::Use-Pty=0'];
  run('apt-get', ['update', ...quiet]) &&
    run('apt-get', ['install', '-y', ...quiet, 'nginx-light', 'openssl']);
}
if (!ready()) console.error('No nginx or no openssl found: the test of the reverse proxy is left out.');
