import { createHash } from 'node:crypto';
import { readFile } from 'node:fs/promises';
import { extname, join, normalize, sep } from 'node:path';
import { promisify } from 'node:util';
import { brotliCompress, constants, gzip } from 'node:zlib';

const types: Readonly<Record<string, string>> = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
  '.svg': 'image/svg+xml',
  '.png': 'image/png',
  '.ico': 'image/x-icon',
  '.json': 'application/json',
  '.webmanifest': 'application/manifest+json',
  '.woff2': 'font/woff2',
  '.txt': 'text/plain; charset=utf-8',
};
const compressible = new Set(['.html', '.js', '.css', '.svg', '.json', '.webmanifest', '.txt']);

/** Addresses inside the page; each gets index.html, and the page draws the workplace. */
const pagePaths =
  /^\/(?:(?:station|review|floor|setup|import|sign-in|people|alarms|handover|concessions)(?:\/.*)?)?$/;

interface PageFile {
  readonly type: string;
  readonly tag: string;
  readonly cacheControl: string;
  readonly plain: Uint8Array<ArrayBuffer>;
  readonly gzip: Uint8Array<ArrayBuffer> | null;
  readonly brotli: Uint8Array<ArrayBuffer> | null;
}

const toGzip = promisify(gzip);
const toBrotli = promisify(brotliCompress);

async function load(folder: string, name: string): Promise<PageFile | null> {
  const file = normalize(join(folder, name));
  const type = types[extname(file)];
  if (!file.startsWith(normalize(folder) + sep) || type === undefined) return null;
  const plain = await readFile(file).catch(() => null);
  if (plain === null) return null;
  const squeeze = compressible.has(extname(file)) && plain.byteLength > 512;
  return {
    type,
    tag: `"${createHash('sha256').update(plain).digest('base64url').slice(0, 22)}"`,
    // The build puts a hash of the content into the name of everything under assets/.
    cacheControl: name.startsWith('/assets/') ? 'public, max-age=31536000, immutable' : 'no-cache',
    plain: new Uint8Array(plain),
    gzip: squeeze ? new Uint8Array(await toGzip(plain, { level: 9 })) : null,
    brotli: squeeze
      ? new Uint8Array(await toBrotli(plain, { params: { [constants.BROTLI_PARAM_QUALITY]: 9 } }))
      : null,
  };
}

function choose(
  file: PageFile,
  accepted: string,
): { bytes: Uint8Array<ArrayBuffer>; encoding: string | null } {
  const takes = (name: string) => new RegExp(`\\b${name}\\b(?!\\s*;\\s*q=0(?:\\.0*)?(?:,|$))`).test(accepted);
  if (file.brotli !== null && takes('br')) return { bytes: file.brotli, encoding: 'br' };
  if (file.gzip !== null && takes('gzip')) return { bytes: file.gzip, encoding: 'gzip' };
  return { bytes: file.plain, encoding: null };
}

/**
 * Serves the built page from one folder. Each file is read and compressed once and then kept: the build is a few
 * hundred kilobytes and does not change while the server runs.
 */
export function pageFiles(folder: string) {
  const kept = new Map<string, Promise<PageFile | null>>();
  const find = (name: string): Promise<PageFile | null> => {
    const known = kept.get(name);
    if (known !== undefined) return known;
    const loading = load(folder, name);
    kept.set(name, loading);
    // A name that is not there must not grow the memory.
    loading.then((file) => file ?? kept.delete(name)).catch(() => kept.delete(name));
    return loading;
  };

  const nameOf = (path: string): string => {
    if (path === '/reference') return '/reference.html';
    return pagePaths.test(path) ? '/index.html' : path;
  };

  return async (path: string, headers: Headers): Promise<Response | null> => {
    const file = await find(nameOf(path));
    if (file === null) return null;
    const common = { ETag: file.tag, 'Cache-Control': file.cacheControl, Vary: 'Accept-Encoding' };
    if (headers.get('if-none-match') === file.tag)
      return new Response(null, { status: 304, headers: common });
    const { bytes, encoding } = choose(file, headers.get('accept-encoding') ?? '');
    return new Response(bytes, {
      headers: {
        ...common,
        'Content-Type': file.type,
        'Content-Length': String(bytes.byteLength),
        ...(encoding === null ? {} : { 'Content-Encoding': encoding }),
      },
    });
  };
}
