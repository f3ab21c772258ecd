/** The inventory of components: `npm run sbom`, from the lock file alone. ASVS 15.1.2. */
import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';

const root = fileURLToPath(new URL('../..', import.meta.url));

it('names every component of the lock file, with its version and digest, without the network', () => {
  const nowhere = { npm_config_registry: 'http://127.0.0.1:9/', npm_config_offline: 'true' };
  const text = execFileSync('npm', ['run', '--silent', 'sbom'], {
    cwd: root,
    env: { ...process.env, ...nowhere },
    encoding: 'utf8',
    maxBuffer: 64 * 1024 * 1024,
  });
  const inventory = JSON.parse(text) as {
    bomFormat: string;
    components: { name: string; version: string; purl: string; hashes?: unknown[] }[];
  };
  expect(inventory.bomFormat).toBe('CycloneDX');
  const listed = new Map(
    inventory.components.map(({ name, version, hashes }) => [`${name}@${version}`, hashes]),
  );
  const lock = JSON.parse(readFileSync(`${root}package-lock.json`, 'utf8')) as {
    packages: Record<string, { version: string; integrity?: string; name?: string }>;
  };
  const locked = Object.entries(lock.packages).filter(([path]) => path !== '');
  expect(locked.length).toBeGreaterThan(300);
  for (const [path, { name, version, integrity }] of locked) {
    const id = `${name ?? path.replace(/^.*node_modules\//, '')}@${version}`;
    expect(listed.has(id), id).toBe(true);
    if (integrity !== undefined) expect(listed.get(id)?.length, id).toBeGreaterThan(0);
  }
});
