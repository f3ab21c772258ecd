/**
 * The browser tests need a Chromium. Uses one that is there; else installs one (Debian package as root, else the
 * browser library's own installer); else says in one sentence what to install.
 */
import { spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { findBrowser } from './find-browser.mjs';

const run = (command, args) => spawnSync(command, args, { stdio: 'inherit' }).status === 0;

function installBrowser() {
  if (process.getuid?.() === 0 && existsSync('/usr/bin/apt-get')) {
    const quiet = ['-qq', '-o=Dpkg::Use-Pty=0'];
    if (run('apt-get', ['update', ...quiet]) && run('apt-get', ['install', '-y', ...quiet, 'chromium']))
      return;
  }
  const installer = fileURLToPath(new URL('./cli.js', import.meta.resolve('playwright-core/package.json')));
  run(process.execPath, [installer, 'install', 'chromium']);
}

if (!findBrowser()) {
  console.log('The browser tests need a Chromium; installing one.');
  installBrowser();
}
if (!findBrowser()) {
  console.error(
    'No Chromium found: install Chromium or Google Chrome, or set CHROMIUM_PATH to its program file.',
  );
  process.exit(1);
}
