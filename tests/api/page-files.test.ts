import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { brotliDecompressSync, gunzipSync } from 'node:zlib';
import { afterAll, describe, expect, it } from 'vitest';
import { pageFiles } from '../../api/http/page-files.ts';

const folder = mkdtempSync(join(tmpdir(), 'runtrue-page-'));
const web = join(folder, 'web');
mkdirSync(join(web, 'assets'), { recursive: true });
writeFileSync(join(web, 'index.html'), '<!doctype html><title>Runtrue</title>');
const script = `export const text = '${'steel '.repeat(500)}';`;
writeFileSync(join(web, 'assets', 'main-1a2b3c.js'), script);
writeFileSync(join(web, 'mark.svg'), '<svg xmlns="http://www.w3.org/2000/svg"/>');
writeFileSync(join(folder, 'secret.txt'), 'not for the page');
afterAll(() => rmSync(folder, { recursive: true }));

const files = pageFiles(web);
const get = (path: string, headers: Record<string, string> = {}) => files(path, new Headers(headers));

describe('the files of the page', () => {
  it.each(['/', '/station', '/review', '/floor', '/setup', '/import', '/station/R1'])(
    'answers %s with the page',
    async (path) => {
      const response = (await get(path))!;
      expect(response.headers.get('content-type')).toBe('text/html; charset=utf-8');
      expect(response.headers.get('cache-control')).toBe('no-cache');
      expect(await response.text()).toContain('<title>Runtrue</title>');
    },
  );

  it.each(['/stations', '/assets/gone.js', '/favicon.ico', '/index.html.bak', '/assets'])(
    'has nothing at %s',
    async (path) => expect(await get(path)).toBeNull(),
  );

  it.each([
    '/../secret.txt',
    '/assets/../../secret.txt',
    '/assets/..\\..\\secret.txt',
    '/\0.js',
    '//etc/hosts.txt',
  ])('never leaves its folder for %j', async (path) => expect(await get(path)).toBeNull());

  it('lets browsers keep what has a hash in its name', async () => {
    const response = (await get('/assets/main-1a2b3c.js'))!;
    expect(response.headers.get('cache-control')).toBe('public, max-age=31536000, immutable');
    expect(response.headers.get('content-type')).toBe('text/javascript; charset=utf-8');
    expect((await get('/mark.svg'))!.headers.get('content-type')).toBe('image/svg+xml');
  });

  it('compresses as the browser asks', async () => {
    const path = '/assets/main-1a2b3c.js';
    const brotli = (await get(path, { 'Accept-Encoding': 'gzip, deflate, br' }))!;
    expect(brotli.headers.get('content-encoding')).toBe('br');
    expect(brotliDecompressSync(await brotli.arrayBuffer()).toString()).toBe(script);
    const gzip = (await get(path, { 'Accept-Encoding': 'gzip, br;q=0' }))!;
    expect(gzip.headers.get('content-encoding')).toBe('gzip');
    expect(gzip.headers.get('vary')).toBe('Accept-Encoding');
    expect(gunzipSync(await gzip.arrayBuffer()).toString()).toBe(script);
    const plain = (await get(path))!;
    expect(plain.headers.get('content-encoding')).toBeNull();
    expect(await plain.text()).toBe(script);
  });

  it('sends nothing where the browser has it already', async () => {
    const tag = (await get('/'))!.headers.get('etag')!;
    const again = (await get('/', { 'If-None-Match': tag }))!;
    expect(again.status).toBe(304);
    expect(await again.text()).toBe('');
    expect((await get('/', { 'If-None-Match': '"other"' }))!.status).toBe(200);
  });
});
