/**
 * The browser tests need a Chromium. Uses one that is there; else installs one (Debian package as root, else the
 * browser library's own installer); else says in one sentence what to install.
 */
import { spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { chromium } from 'playwright-core';

const usualPlaces = [
  process.env.CHROMIUM_PATH,
  '/usr/bin/chromium',
  '/usr/bin/chromium-browser',
  '/usr/bin/google-chrome',
  '/Applications/Chromium.app/Contents/MacOS/Chromium',
  '/Applications/Google Chrome.app/Contents/MacOS/Google Chrome',
  'C:\\Program Files\\Google\\Chrome\\Application\\chrome.exe',
];

export function findBrowser() {
  return [...usualPlaces, chromium.executablePath()].find((path) => path && existsSync(path)) ?? null;
}

const run = (command, args) => spawnSync(command, args, { stdio: 'inherit' }).status === 0;

function installBrowser() {
  if (process.getuid?.() === 0 && existsSync('/usr/bin/apt-get')) {
    if (run('apt-get', ['update', '-qq']) && run('apt-get', ['install', '-y', '-qq', 'chromium'])) return;
  }
  run(process.execPath, [
    fileURLToPath(import.meta.resolve('playwright-core/cli.js')),
    'install',
    'chromium',
  ]);
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
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
}
