/**
 * The MQTT tests need a real broker. Uses one that is there, else installs Debian's where this is Debian and we may;
 * elsewhere those tests are left out, and this says so.
 */
import { spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { findBroker } from './find-broker.mjs';

const run = (command, args) => spawnSync(command, args, { stdio: 'inherit' }).status === 0;

if (!findBroker() && process.getuid?.() === 0 && existsSync('/usr/bin/apt-get')) {
  console.log('The MQTT tests need a broker; installing one.');
  const quiet = ['-qq', '-o=Dpkg::Use-Pty=0'];
  if (run('apt-get', ['update', ...quiet]))
    run('apt-get', ['install', '-y', '--no-install-recommends', ...quiet, 'mosquitto']);
}
if (!findBroker()) {
  console.error(
    'No MQTT broker found: the tests over one are left out. Install Eclipse Mosquitto 2, or set MOSQUITTO_PATH.',
  );
}
