/** What no sender means well: values, texts, bytes and headers. */
import fc from 'fast-check';

export const hostileValue: fc.Arbitrary<unknown> = fc.oneof(
  fc.constantFrom<unknown>(
    null,
    true,
    '',
    ' ',
    '\0',
    '\ud800',
    '\u202e\u200b',
    '𝟙𝟚𝟟',
    'e\u0301'.repeat(2000),
    'x'.repeat(5000),
    "'; drop table samples; --",
    '../../etc/passwd',
    '#{7*7}{{7*7}}',
    '<script>alert(1)</script>',
    '=cmd|calc',
    'NaN',
    'Infinity',
    '-1',
    '1e999',
    '0x10',
    '2025-13-01T00:00:00Z',
    '9'.repeat(400),
    -1,
    0,
    -0,
    1e12,
    -1e12,
    1.0000001e12,
    1e308,
    5e-324,
    2 ** 53,
    2 ** 31,
    0.1 + 0.2,
    [],
    {},
    [[]],
    { value: {} },
    { constructor: { prototype: {} } },
    Array.from({ length: 1001 }, () => 1),
    Array.from({ length: 300 }, (_, index) => index / 7),
    Array.from({ length: 40 }, () => 0),
  ),
  fc.jsonValue({ maxDepth: 3 }),
);

/** Puts a hostile value in one place of a value that would fit, takes a field away, or adds one. */
export function spoil(
  value: unknown,
  [turn = 0, ...turns]: readonly number[],
  bad: unknown,
  how: 'replace' | 'remove' | 'add',
): unknown {
  if (typeof value !== 'object' || value === null || turn % 4 === 0) return bad;
  const entries = Object.entries(value);
  if (entries.length === 0) return bad;
  const [name, inner] = entries[turn % entries.length]!;
  const deeper = turns.length > 2 && typeof inner === 'object' && inner !== null;
  if (how === 'add' && !deeper)
    return Array.isArray(value)
      ? [...value, bad]
      : { ...value, [['extra', 'toString', 'length', 'valueOf', name.toUpperCase()][turn % 5]!]: bad };
  if (how === 'remove' && !deeper)
    return Array.isArray(value)
      ? value.filter((_, index) => String(index) !== name)
      : Object.fromEntries(entries.filter(([other]) => other !== name));
  const spoiled = spoil(inner, turns, bad, how);
  return Array.isArray(value)
    ? value.map((item, index) => (String(index) === name ? spoiled : item))
    : { ...value, [name]: spoiled };
}

/** Texts that are not JSON, or JSON that hides something. */
export const rawText = fc.oneof(
  fc.constantFrom(
    '',
    ' ',
    'NaN',
    '{"value":NaN}',
    'Infinity',
    '1e400',
    '-1e400',
    '01',
    '{"a":1,"a":2}',
    '{"__proto__":{"polluted":true}}',
    '{"constructor":{"prototype":{"polluted":true}}}',
    '"\\u0000"',
    '"\\ud800"',
    '[',
    '{"id":',
    'nul',
    'undefined',
    '\ufeff{}',
    '{}{}',
    "{'a':1}",
    '{"a":1,}',
    '// comment\n{}',
    '['.repeat(20_000),
    '{"a":'.repeat(20_000),
    `"${'x'.repeat(100_000)}"`,
    `[${'1,'.repeat(5000)}1]`,
    `{${Array.from({ length: 1500 }, (_, index) => `"k${index}":0`).join()}}`,
  ),
  fc.string({ unit: 'binary', maxLength: 60 }),
);

/** Changes to the text of a body that was well-formed. */
export const textChange: fc.Arbitrary<(text: string) => string> = fc.oneof(
  fc.nat(10_000).map((at) => (text: string) => text.slice(0, at % (text.length + 1))),
  fc.constantFrom<(text: string) => string>(
    // A name given twice, a prototype's name, and numbers that JSON does not have.
    (text) => text.replace(/^\{"([^"]*)":/, '{"$1":null,"$1":'),
    (text) => text.replace(/^\{/, '{"__proto__":{"polluted":true},'),
    (text) => text.replace(/-?\d+(?:\.\d+)?/, 'NaN'),
    (text) => text.replace(/-?\d+(?:\.\d+)?/, '1e999'),
    (text) => text.replace(/-?\d+(?:\.\d+)?/, '0.1e-9999'),
    (text) => text.replace(/:"/, ':"\\ud83d'),
    (text) => text.replace(/:"/, ':"\\u0000'),
    (text) => `${text}${text}`,
    (text) => `\ufeff${text}`,
    (text) => text.replaceAll('"', "'"),
    (text) => ` \n\t${text}\r\n`,
  ),
);

/** Bytes of a text in some encoding, right or wrong. */
export const encoded: fc.Arbitrary<(text: string) => Uint8Array> = fc.oneof(
  { weight: 3, arbitrary: fc.constant((text: string) => Buffer.from(text, 'utf8')) },
  {
    weight: 1,
    arbitrary: fc.constantFrom<(text: string) => Uint8Array>(
      (text) => Buffer.from(text, 'utf16le'),
      (text) => Buffer.concat([Buffer.from([0xff, 0xfe]), Buffer.from(text, 'utf16le')]),
      (text) => Buffer.from(`${text}é`, 'latin1'),
      (text) => Buffer.concat([Buffer.from(text), Buffer.from([0xc3])]),
      (text) => Buffer.from(Buffer.from(text).map((byte, at) => (at % 7 === 3 ? byte ^ 0x80 : byte))),
    ),
  },
);

/** Bytes of uploads: tables, broken ones, and files of other kinds. */
export const uploadBytes: fc.Arbitrary<Uint8Array> = fc.oneof(
  fc
    .array(
      fc.array(
        fc.oneof(
          fc.integer({ min: 12_600, max: 12_800 }).map((value) => String(value / 100)),
          fc.constantFrom(
            '2025-09-01 06:30',
            '01.09.2025 06:30',
            '',
            '"a;b"',
            '=1+1',
            '-',
            '"',
            'NaN',
            '12,5',
          ),
          fc.string({ maxLength: 8 }),
        ),
        { minLength: 1, maxLength: 7 },
      ),
      { maxLength: 12 },
    )
    .chain((rows) =>
      fc
        .constantFrom(',', ';', '\t', '|')
        .map((delimiter) =>
          Buffer.from(`time,a,b\n${rows.map((cells) => cells.join(delimiter)).join('\n')}\n`),
        ),
    ),
  fc
    .array(
      fc.dictionary(fc.constantFrom('time', 'a', 'b', '__proto__'), fc.jsonValue({ maxDepth: 2 }), {
        maxKeys: 4,
      }),
      { maxLength: 6 },
    )
    .map((rows) => Buffer.from(rows.map((row) => JSON.stringify(row)).join('\n'))),
  fc.uint8Array({ maxLength: 300 }),
  fc
    .uint8Array({ maxLength: 100 })
    .map((bytes) => Buffer.concat([Buffer.from([0x50, 0x4b, 0x03, 0x04]), bytes])),
  fc.constantFrom<Uint8Array>(
    Buffer.from('a,b\n'.repeat(3000)),
    Buffer.from(`"${'x'.repeat(150_000)}`),
    Buffer.from(`${'a,'.repeat(1500)}a\n1`),
    Buffer.alloc(2000),
    Buffer.from('\ufeffa;b\n1,5;2,5\n'),
    Buffer.from('a,b\n1,2\n', 'utf16le'),
  ),
);

/** Bytes as text, so that a header may carry them. */
const headerText = fc.oneof(
  fc.constantFrom(
    '',
    ' ',
    'kim',
    '*',
    'W/"x"',
    '"x"',
    '"unclosed',
    ',,,',
    '\u00e9\u00ff',
    'x'.repeat(3000),
    '../..',
    '%zz',
    '%00',
    '2025-09-03',
    'Bearer ',
    'Bearer x',
    'Basic a2ltOmtpbQ==',
    'session=1; session=2',
    '00-00000000000000000000000000000000-0000000000000000-00',
    '00-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01',
    '-1',
    '1e9',
    'bytes=0-1,2-3',
  ),
  fc.string({ maxLength: 30 }),
);

export const hostileHeaders: fc.Arbitrary<readonly (readonly [string, string])[]> = fc.array(
  fc.tuple(
    fc.constantFrom(
      'Accept',
      'Accept-Encoding',
      'Accept-Language',
      'Authorization',
      'Content-Encoding',
      'Cookie',
      'File-Name',
      'Idempotency-Key',
      'If-Match',
      'If-None-Match',
      'If-Modified-Since',
      'Last-Event-ID',
      'Origin',
      'Range',
      'Referer',
      'Runtrue-Person',
      'Traceparent',
      'X-Forwarded-For',
      'X-Forwarded-Host',
      'X-HTTP-Method-Override',
      'X-Request-Id',
      'constructor',
      '__proto__',
    ),
    headerText,
  ),
  { maxLength: 3 },
);

/** Parts of an address that mean something to file systems, databases or other programs. */
export const hostileSegment = fc.oneof(
  fc.constantFrom(
    '..',
    '%2e%2e%2f%2e%2e%2fetc%2fpasswd',
    '..%5c..%5c',
    '%00',
    '%zz',
    '%',
    '%ff',
    '%ed%a0%80',
    '%F0%9F%98%80',
    'x'.repeat(2000),
    '__proto__',
    'constructor',
    'toString',
    '{id}',
    ':id',
    '*',
    '-1',
    '0',
    '1',
    '2',
    '1e3',
    '0x1',
    '99999999999999999999',
    'NaN',
    ' ',
    ';drop',
  ),
  fc.string({ maxLength: 12 }).map(encodeURIComponent),
);
