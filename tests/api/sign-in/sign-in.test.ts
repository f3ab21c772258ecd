/** Signing in, in process and over HTTP: first start, links, sessions, stations, guessing, foreign pages, the log. */
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it, vi } from 'vitest';
import { ProblemError } from '../../../api/problem.ts';
import type { OwnSession } from '../../../api/schemas.ts';
import { checkPassword, checkPin } from '../../../api/sign-in/secrets.ts';
import type { TestApp } from '../support.ts';
import {
  ADDRESS,
  addPerson,
  addStation,
  openSignedInApp,
  PASSWORD,
  PIN,
  registerStation,
  type TestBrowser,
} from './support.ts';

let app: TestApp;
let administrator: TestBrowser;
let newBrowser: (origin?: string) => TestBrowser;
const begin = async () => {
  ({ app, administrator, newBrowser } = await openSignedInApp());
  // What a second factor is asked of, second-factor.test.ts looks at.
  await administrator.call('PUT /api/second-factor/roles', { body: { roles: [] } });
};
const end = () => app.close();

const MINUTE = 60_000;
const HOUR = 60 * MINUTE;

describe('the first start', () => {
  beforeEach(begin);
  afterEach(end);
  it('makes one administrator by a link that works once, and offers none after', async () => {
    expect(await administrator.call('GET /api/session')).toMatchObject({
      signIn: 'on',
      person: { id: 'boss', name: 'Boss', role: 'administrator' },
    });
    expect(await app.signIn!.firstStart()).toBeNull();
  });

  it('gives a new link while nobody has used one; only the newest is valid, for 24 hours', async () => {
    const fresh = await openEmpty();
    const first = (await fresh.signIn!.firstStart())!;
    const second = (await fresh.signIn!.firstStart())!;
    const visitor = new (administrator.constructor as typeof TestBrowser)(fresh);
    const body = { person: { id: 'boss', name: 'Boss' }, password: PASSWORD };
    const become = 'POST /api/one-time-links/first-administrator';
    expect((await visitor.refused(become, { body: { ...body, token: first } })).status).toBe(404);
    expect(await visitor.call('POST /api/one-time-links/look', { body: { token: second } })).toEqual({
      purpose: 'first administrator',
      person: null,
      needsCode: false,
    });
    const weak = { ...body, token: second, password: 'short' };
    expect((await visitor.refused(become, { body: weak })).errors[0]?.field).toBe('password');
    fresh.clock.time += 24 * HOUR;
    expect((await visitor.refused(become, { body: { ...body, token: second } })).status).toBe(404);
    const third = (await fresh.signIn!.firstStart())!;
    await visitor.call(become, { body: { ...body, token: third } });
    expect((await visitor.refused(become, { body: { ...body, token: third } })).status).toBe(404);
    await fresh.close();
  });
});

async function openEmpty(): Promise<TestApp> {
  const { openApp } = await import('../support.ts');
  return openApp({ signIn: true });
}

describe('a session', () => {
  beforeEach(begin);
  afterEach(end);
  it('rests on a cookie that no script reads and no other site sends; over https also never in the clear', async () => {
    const plain = newBrowser();
    await plain.signIn('boss', { password: PASSWORD });
    expect(plain.set).toHaveLength(1);
    expect(plain.set[0]).toMatch(
      /^runtrue-session=[\w-]{43}; Max-Age=43200; Path=\/; HttpOnly; SameSite=Strict$/,
    );
    const secure = newBrowser('https://localhost:8080');
    await secure.signIn('boss', { password: PASSWORD });
    expect(secure.set[0]).toMatch(
      /^__Host-runtrue-session=[\w-]{43}; Max-Age=43200; Path=\/; HttpOnly; SameSite=Strict; Secure$/,
    );
    expect((await secure.call('GET /api/session')).person.id).toBe('boss');
  });

  it('stores only a digest of its token, and no secret anywhere', async () => {
    const browser = newBrowser();
    await browser.signIn('boss', { password: PASSWORD });
    const rows = await app.store.sql.all<{ digest: string }>('select token_digest as "digest" from sessions');
    expect(rows).toHaveLength(2);
    const token = [...browser.cookies.values()][0]!;
    for (const { digest } of rows) expect(digest).toMatch(/^[0-9a-f]{64}$/);
    const hashes = await app.store.sql.all<{ hash: string }>('select password_hash as "hash" from accounts');
    expect(hashes[0]!.hash).toMatch(/^\$argon2id\$v=19\$m=19456,t=2,p=1\$/);
    const tables = ['accounts', 'sessions', 'registered_stations', 'one_time_tokens', 'audit_notes'];
    const bytes = JSON.stringify(
      await Promise.all(tables.map((name) => app.store.sql.all(`select * from ${name}`))),
    );
    expect(bytes).toContain(rows[0]!.digest);
    expect(bytes).not.toContain(token);
    expect(bytes).not.toContain(PASSWORD);
  });

  it('ends when the person signs out, and at once on every device when they ask for it', async () => {
    const other = newBrowser();
    await other.signIn('boss', { password: PASSWORD });
    const cookie = [...administrator.cookies];
    const left = await administrator.send(administrator.request('DELETE /api/session'));
    expect(left.headers.get('Clear-Site-Data')).toBe('"cache"');
    expect(administrator.cookies.size).toBe(0);
    // The cookie itself is worth nothing any more.
    for (const [name, value] of cookie) administrator.cookies.set(name, value);
    expect((await administrator.refused('GET /api/plant')).status).toBe(401);
    expect((await other.call('GET /api/plant')).people).toHaveLength(1);
    const third = newBrowser();
    await third.signIn('boss', { password: PASSWORD });
    await third.call('DELETE /api/session/everywhere');
    expect((await other.refused('GET /api/plant')).status).toBe(401);
  });

  it('is shown to its person with all their others, each of which they can end', async () => {
    await addStation(administrator);
    const ana = await addPerson(administrator, 'ana', 'tech');
    const station = await registerStation(administrator);
    await station.signIn('ana', { pin: PIN });
    app.clock.time += MINUTE;
    const desk = newBrowser();
    const userAgent =
      'Mozilla/5.0 (X11; Linux x86_64) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/140.0.0.0 Safari/537.36';
    const body = { personId: 'ana', password: PASSWORD };
    await desk.send(desk.request('POST /api/session', { body }, { 'User-Agent': userAgent }));
    const listed = await desk.call('GET /api/sessions');
    expect(listed.map(({ device }: OwnSession) => device)).toEqual(['Chromium on Linux', null, null]);
    const told = listed.map(({ way, stationId, here }: OwnSession) => [way, stationId, here]);
    expect(told[0]).toEqual(['password', null, true]);
    expect(told.slice(1)).toEqual(
      expect.arrayContaining([
        ['pin', 'R1-end', false],
        ['link', null, false],
      ]),
    );
    expect(told).toHaveLength(3);
    const end = (browser: TestBrowser, way: string) => {
      const { id } = listed.find((one: OwnSession) => one.way === way)!;
      return browser.send(browser.request('DELETE /api/sessions/{id}', { params: { id } }));
    };
    // Nobody ends those of others.
    expect((await end(administrator, 'pin')).status).toBe(404);
    expect((await end(desk, 'pin')).status).toBe(200);
    expect((await end(desk, 'pin')).status).toBe(404);
    expect((await station.call('GET /api/session')).person).toBeNull();
    expect((await ana.call('GET /api/session')).person.id).toBe('ana');
    // What has run out is not there any more either.
    app.clock.time += 2 * HOUR - MINUTE;
    expect(await desk.call('GET /api/sessions')).toHaveLength(1);
  });

  it('ends after two idle hours; what a person does keeps it, what the page fetches by itself does not', async () => {
    for (let passed = 0; passed < 5; passed++) {
      app.clock.time += HOUR;
      await administrator.call('POST /api/session/use');
    }
    app.clock.time += 2 * HOUR - MINUTE;
    await administrator.call('GET /api/plant');
    app.clock.time += MINUTE;
    const problem = await administrator.refused('GET /api/plant');
    expect(problem).toMatchObject({ status: 401, errors: [{ field: 'session' }] });
    expect(await administrator.call('GET /api/session')).toMatchObject({ person: null, may: ['come in'] });
  });

  it('ends after twelve hours whatever happens', async () => {
    for (let passed = 0; passed < 11; passed++) {
      app.clock.time += HOUR;
      await administrator.call('POST /api/session/use');
    }
    app.clock.time += HOUR;
    expect((await administrator.refused('POST /api/session/use')).status).toBe(401);
  });

  it('keeps a stream of changes open only as long as it lasts', async () => {
    vi.useFakeTimers({ toFake: ['setInterval', 'clearInterval'] });
    const response = await administrator.send(
      new Request('http://127.0.0.1/api/stream', {
        headers: administrator.request('GET /api/plant').headers,
      }),
    );
    const reader = response.body!.pipeThrough(new TextDecoderStream()).getReader();
    expect((await reader.read()).value).toContain('connected');
    await vi.advanceTimersByTimeAsync(15_000);
    expect((await reader.read()).value).toContain('still here');
    await administrator.call('DELETE /api/session/everywhere');
    await vi.advanceTimersByTimeAsync(15_000);
    vi.useRealTimers();
    let last = await reader.read();
    while (!last.done) last = await reader.read();
    expect(last.done).toBe(true);
  });

  it('takes the place of the one before in the same browser', async () => {
    const kept = new Map(administrator.cookies);
    await administrator.signIn('boss', { password: PASSWORD });
    const before = newBrowser();
    for (const [name, value] of kept) before.cookies.set(name, value);
    expect((await before.refused('GET /api/plant')).status).toBe(401);
  });

  it('never signs what somebody else entered at the same place', async () => {
    const tech = await addPerson(administrator, 'ana', 'tech');
    const body = {
      id: '0b9d3a52-6f0e-4c9a-9d55-0f6f4e3f2c11',
      lineId: 'R1',
      stationId: null,
      streamId: null,
      kind: 'note',
      at: new Date(app.clock.time).toISOString(),
      until: null,
      modelId: null,
      lot: null,
      text: 'x',
    };
    await addStation(administrator);
    const problem = await tech.refused('POST /api/events', { body }, { 'Runtrue-Person': 'ben' });
    expect(problem).toMatchObject({ status: 401, errors: [{ field: 'Runtrue-Person' }] });
    const own = await tech.send(tech.request('POST /api/events', { body }, { 'Runtrue-Person': 'ana' }));
    expect(await own.json()).toMatchObject({ personId: 'ana' });
  });
});

describe('the rules of secrets', () => {
  it.each<[string, string]>([
    ['too short', 'rollers'],
    ['eleven signs of two code units each', '🔩'.repeat(11)],
    ['one that everybody tries', 'Password1234'],
    ['one of the list', 'leavemealone'],
    ['one of the list and a year', 'Chickenwing1012026'],
    ['a word of this trade and a number', 'Supervisor12'],
    ['letters in a row', 'abcdefghijklm'],
    ['digits in a row', '123456789012'],
    ['digits in a row, downwards', '987654321098'],
    ['a word again and again', 'hammerhammerhammer'],
    ['the own name and a year', 'Person ana 26'],
  ])('are refused when a password is %s', (_, password) => {
    expect(() => checkPassword(password, ['ana', 'Person ana'], 'password')).toThrow(ProblemError);
  });

  it.each(['abcd', '284', '284719365', '1234', '8901', '4321', '7777', '28 47', '', '２８４７'])(
    'are refused when a PIN is "%s"',
    (pin) => expect(() => checkPin(pin, 'pin')).toThrow(ProblemError),
  );

  it('are taken as they are otherwise, spaces and all scripts included', () => {
    for (const password of [
      PASSWORD,
      'Пять тихих роликов',
      'köln und aachen',
      'xK9?xK9?vv-22',
      'ana likes long rides',
    ])
      checkPassword(password, ['ana', 'Person ana'], 'password');
    for (const pin of [PIN, '1357', '13572468', '9021']) checkPin(pin, 'pin');
  });
});

describe('secrets', () => {
  beforeEach(begin);
  afterEach(end);
  it('are refused over HTTP with the field and the fix, and where there are none', async () => {
    await administrator.call('PUT /api/people/{id}', {
      params: { id: 'ana' },
      body: { record: { id: 'ana', name: 'Person ana', role: 'tech' } },
    });
    const { secret: token } = await administrator.call('POST /api/accounts/{id}/link', {
      params: { id: 'ana' },
    });
    for (const [chosen, field] of [
      [{ password: 'rollers' }, 'password'],
      [{ pin: '1234' }, 'pin'],
      [{}, 'password'],
    ] as const) {
      const body = { token, ...chosen };
      const problem = await newBrowser().refused('POST /api/one-time-links/secrets', { body });
      expect(problem).toMatchObject({ status: 422, errors: [{ field }] });
    }
  });

  it('are changed by who knows the present one; every other session ends', async () => {
    const other = newBrowser();
    await other.signIn('boss', { password: PASSWORD });
    const body = { current: 'seven loud rollers', password: 'nine slow hammers' };
    expect((await administrator.refused('PUT /api/session/secrets', { body })).errors[0]?.field).toBe(
      'current',
    );
    await administrator.call('PUT /api/session/secrets', { body: { ...body, current: PASSWORD } });
    expect((await administrator.call('GET /api/session')).person.id).toBe('boss');
    expect((await other.refused('GET /api/plant')).status).toBe(401);
    expect(
      (await newBrowser().refused('POST /api/session', { body: { personId: 'boss', password: PASSWORD } }))
        .status,
    ).toBe(401);
    await newBrowser().signIn('boss', { password: 'nine slow hammers' });
  });

  it('are reset by a link of an administrator, which works once and is replaced by the next', async () => {
    const tech = await addPerson(administrator, 'ana', 'tech');
    const link = () => administrator.call('POST /api/accounts/{id}/link', { params: { id: 'ana' } });
    const { secret: old } = await link();
    const { secret: token, expiresAt } = await link();
    expect(Date.parse(expiresAt) - app.clock.time).toBe(24 * HOUR);
    const use = (given: string) => ({ body: { token: given, password: 'nine slow hammers' } });
    const visitor = newBrowser();
    expect((await visitor.refused('POST /api/one-time-links/secrets', use(old))).status).toBe(404);
    expect(await visitor.call('POST /api/one-time-links/look', { body: { token } })).toEqual({
      purpose: 'choose secrets',
      person: { id: 'ana', name: 'Person ana', role: 'tech' },
      needsCode: false,
    });
    await visitor.call('POST /api/one-time-links/secrets', use(token));
    expect((await tech.refused('GET /api/plant')).status).toBe(401);
    expect((await newBrowser().refused('POST /api/one-time-links/secrets', use(token))).status).toBe(404);
    expect(await administrator.call('GET /api/accounts')).toEqual([
      { personId: 'ana', hasPassword: true, hasPin: true, hasSecondFactor: false },
      { personId: 'boss', hasPassword: true, hasPin: false, hasSecondFactor: false },
    ]);
  });

  it('are taken away from whoever leaves, with every session', async () => {
    const tech = await addPerson(administrator, 'ana', 'tech');
    await administrator.call('DELETE /api/accounts/{id}', { params: { id: 'ana' } });
    expect((await tech.refused('GET /api/plant')).status).toBe(401);
    const again = { body: { personId: 'ana', password: PASSWORD } };
    expect((await newBrowser().refused('POST /api/session', again)).status).toBe(401);
    const own = await administrator.refused('DELETE /api/accounts/{id}', { params: { id: 'boss' } });
    expect(own.status).toBe(409);
  });
});

describe('a registered station', () => {
  beforeEach(begin);
  afterEach(end);
  it('lets people sign in with a PIN, reads without anybody, and is left after a quarter of an hour', async () => {
    await addStation(administrator);
    await addPerson(administrator, 'ana', 'tech');
    const station = await registerStation(administrator);
    expect(station.set[0]).toMatch(
      /^runtrue-station=[\w-]{43}; Max-Age=34560000; Path=\/; HttpOnly; SameSite=Strict$/,
    );
    expect((await station.call('GET /api/plant')).stations).toHaveLength(1);
    expect((await station.call('GET /api/session')).stationId).toBe('R1-end');
    const declare = { body: { streamId: 'x', dueAt: new Date(app.clock.time).toISOString(), reason: 'x' } };
    expect((await station.refused('POST /api/missed-samples', declare)).status).toBe(401);
    await station.signIn('ana', { pin: PIN });
    expect((await station.call('GET /api/session')).person.id).toBe('ana');
    expect((await station.refused('POST /api/missed-samples', declare)).status).toBe(404);
    app.clock.time += 15 * MINUTE;
    expect((await station.refused('POST /api/missed-samples', declare)).status).toBe(401);
    expect((await station.call('GET /api/plant')).people).toHaveLength(2);
    await station.signIn('ana', { pin: PIN });
  });

  it('is the only place where a PIN counts, and its sessions live only there', async () => {
    await addStation(administrator);
    await addPerson(administrator, 'ana', 'tech');
    const elsewhere = await newBrowser().refused('POST /api/session', {
      body: { personId: 'ana', pin: PIN },
    });
    expect(elsewhere).toMatchObject({ status: 422, errors: [{ field: 'pin' }] });
    // Nor does it count as a password.
    const asPassword = { body: { personId: 'ana', password: PIN } };
    expect((await newBrowser().refused('POST /api/session', asPassword)).status).toBe(401);
    const station = await registerStation(administrator);
    await station.signIn('ana', { pin: PIN });
    const thief = newBrowser();
    thief.cookies.set('runtrue-session', station.cookies.get('runtrue-session')!);
    expect((await thief.refused('GET /api/plant')).status).toBe(401);
  });

  it('is made by a code that works once, for a quarter of an hour, however it is typed', async () => {
    await addStation(administrator);
    const make = () =>
      administrator.call('POST /api/stations/{id}/registration-code', { params: { id: 'R1-end' } });
    const { secret: code } = await make();
    expect(code).toMatch(/^[2-9A-HJ-NP-Z]{5}-[2-9A-HJ-NP-Z]{5}$/);
    const typed = code.toLowerCase().replace('-', ' ');
    await newBrowser().call('POST /api/registered-stations', { body: { code: typed } });
    expect((await newBrowser().refused('POST /api/registered-stations', { body: { code } })).status).toBe(
      404,
    );
    const { secret: late } = await make();
    app.clock.time += 15 * MINUTE;
    expect(
      (await newBrowser().refused('POST /api/registered-stations', { body: { code: late } })).status,
    ).toBe(404);
    const unknown = await administrator.refused('POST /api/stations/{id}/registration-code', {
      params: { id: 'nowhere' },
    });
    expect(unknown).toMatchObject({ status: 404, errors: [{ field: 'id' }] });
  });

  it('is withdrawn by an administrator, and everybody there is signed out', async () => {
    await addStation(administrator);
    await addPerson(administrator, 'ana', 'tech');
    const station = await registerStation(administrator);
    await station.signIn('ana', { pin: PIN });
    const [listed, ...others] = await administrator.call('GET /api/registered-stations');
    expect(others).toEqual([]);
    expect(listed).toMatchObject({ stationId: 'R1-end', registeredBy: 'boss' });
    await administrator.call('DELETE /api/registered-stations/{id}', { params: { id: listed.id } });
    expect((await station.refused('GET /api/plant')).status).toBe(401);
    const again = { params: { id: listed.id } };
    expect((await administrator.refused('DELETE /api/registered-stations/{id}', again)).status).toBe(404);
  });
});

describe('guessing', () => {
  beforeEach(begin);
  afterEach(end);
  const attempt = (personId: string, password: string) =>
    newBrowser().refused('POST /api/session', { body: { personId, password } });

  it('gets the same answer for an unknown person, one without a password, and a wrong one', async () => {
    await administrator.call('PUT /api/people/{id}', {
      params: { id: 'ana' },
      body: { record: { id: 'ana', name: 'Ana', role: 'tech' } },
    });
    const [wrong, none, unknown] = [
      await attempt('boss', 'guessed wrong today'),
      await attempt('ana', 'guessed wrong today'),
      await attempt('nobody', 'guessed wrong today'),
    ];
    expect(wrong.status).toBe(401);
    expect(none).toEqual(wrong);
    expect(unknown).toEqual(wrong);
  });

  it('is slowed after three tries, longer each time, and the right secret ends that', async () => {
    for (let tries = 0; tries < 3; tries++)
      expect((await attempt('boss', 'guessed wrong today')).status).toBe(401);
    for (const seconds of [1, 2, 4, 8, 16, 32, 64, 128, 256, 512, 900, 900]) {
      app.clock.time += seconds * 1000 - 1;
      // Even the right one has to wait.
      const refused = await attempt('boss', PASSWORD);
      expect(refused.status).toBe(429);
      expect(refused.detail).toMatch(/^Too many tries that failed\. Wait 1 seconds?, /);
      app.clock.time += 1;
      expect((await attempt('boss', 'guessed wrong today')).status).toBe(401);
    }
    app.clock.time += 15 * MINUTE;
    await newBrowser().signIn('boss', { password: PASSWORD });
    for (let tries = 0; tries < 3; tries++)
      expect((await attempt('boss', 'guessed wrong today')).status).toBe(401);
  });

  it('keeps nobody waiting after the clock was set back, and goes on counting', async () => {
    for (let tries = 0; tries < 3; tries++) await attempt('boss', 'guessed wrong today');
    expect((await attempt('boss', PASSWORD)).status).toBe(429);
    app.clock.time -= 24 * HOUR;
    expect((await attempt('boss', 'guessed wrong today')).status).toBe(401);
    expect((await attempt('boss', PASSWORD)).detail).toMatch(/Wait 2 seconds,/);
    app.clock.time += 2000;
    await newBrowser().signIn('boss', { password: PASSWORD });
  });

  it('at a name that nobody has is slowed in the same way', async () => {
    for (let tries = 0; tries < 3; tries++)
      expect((await attempt('nobody', 'guessed wrong today')).status).toBe(401);
    expect((await attempt('nobody', 'guessed wrong today')).status).toBe(429);
  });

  it('all at once is counted as often', async () => {
    const statuses = (
      await Promise.all(Array.from({ length: 12 }, (_, index) => attempt('boss', `guess number ${index}`)))
    ).map(({ status }) => status);
    expect(statuses.filter((status) => status === 401)).toHaveLength(3);
    expect(statuses.filter((status) => status === 429)).toHaveLength(9);
  });

  it('over many names is slowed by the address, which forgets one failure a minute', async () => {
    let number = 0;
    const next = async () => (await attempt(`name-${number++}`, 'guessed wrong today')).status;
    for (let tries = 0; tries < 20; tries++) expect(await next()).toBe(401);
    expect([await next(), await next()]).toEqual([429, 429]);
    // Even the right one has to wait, and then nothing of it is counted.
    const right = { body: { personId: 'boss', password: PASSWORD } };
    expect((await newBrowser().refused('POST /api/session', right)).status).toBe(429);
    app.clock.time += 10 * MINUTE;
    await newBrowser().signIn('boss', { password: PASSWORD });
    for (let tries = 0; tries < 10; tries++) expect(await next()).toBe(401);
    expect(await next()).toBe(429);
  });

  it('of the code of a station is slowed by the address', async () => {
    const guess = async () =>
      (await newBrowser().refused('POST /api/registered-stations', { body: { code: 'ABCDE-FGHJK' } })).status;
    for (let tries = 0; tries < 20; tries++) expect(await guess()).toBe(404);
    expect(await guess()).toBe(429);
  });

  it('of passwords from afar does not keep anybody from their station', async () => {
    await addStation(administrator);
    await addPerson(administrator, 'ana', 'tech');
    const station = await registerStation(administrator);
    for (let tries = 0; tries < 5; tries++) await attempt('ana', 'guessed wrong today');
    expect((await attempt('ana', PASSWORD)).status).toBe(429);
    await station.signIn('ana', { pin: PIN });
  });
});

describe('another site', () => {
  beforeAll(begin);
  afterAll(end);
  const change = {
    params: { id: 'Q1' },
    body: { record: { id: 'Q1', name: 'Wheel' } },
  };
  it.each<[string, Record<string, string | null>]>([
    ['with its own origin', { Origin: 'http://elsewhere.test' }],
    ['with another port', { Origin: 'http://localhost:81' }],
    ['with an origin that it hides', { Origin: 'null' }],
    ['without an origin', { Origin: null }],
    ['without an origin, as browsers say it', { Origin: null, 'Sec-Fetch-Site': 'cross-site' }],
    ['of the same site', { Origin: null, 'Sec-Fetch-Site': 'same-site' }],
    ['with a form', { 'Content-Type': 'text/plain' }],
    ['with a form for files', { 'Content-Type': 'multipart/form-data; boundary=x' }],
    ['with a form of fields', { 'Content-Type': 'application/x-www-form-urlencoded' }],
  ])('changes nothing %s', async (_, changes) => {
    const problem = await administrator.refused('PUT /api/models/{id}', change, changes);
    expect(problem.status).toBe(403);
    expect(problem.title).toBe('Not from this page');
    expect((await administrator.call('GET /api/plant')).models).toEqual([]);
    const signIn = { body: { personId: 'boss', password: PASSWORD } };
    expect([403, 415]).toContain((await newBrowser().refused('POST /api/session', signIn, changes)).status);
    expect((await administrator.refused('DELETE /api/session', {}, changes)).status).toBe(403);
  });

  it('is not this page, which says where it is', async () => {
    const own = administrator.request('PUT /api/models/{id}', change, {
      Origin: null,
      'Sec-Fetch-Site': 'same-origin',
    });
    expect((await administrator.send(own)).status).toBe(200);
    expect(administrator.origin).toBe(ADDRESS);
  });
});

it('keeps an audit note of each step, and none of the secrets in the log', async () => {
  await begin();
  await addStation(administrator);
  await addPerson(administrator, 'ana', 'tech');
  const station = await registerStation(administrator);
  await station.signIn('ana', { pin: PIN });
  await newBrowser().refused('POST /api/session', {
    body: { personId: 'ana', password: 'guessed wrong today' },
  });
  await station.call('DELETE /api/session');
  const swapped = { personId: 'seven.quiet.rollers', password: 'boss' };
  await newBrowser().refused('POST /api/session', { body: swapped });
  const notes = await app.store.sql.all<{ what: string; about: string; detail: string }>(
    'select what, about, detail from audit_notes order by no',
  );
  expect(notes.map(({ what, about }) => `${what}: ${about}`)).toEqual([
    'secrets chosen: boss',
    'signed in: boss',
    'second factor asked of: sign-in',
    'one-time link made: ana',
    'secrets chosen: ana',
    'signed in: ana',
    'station code made: R1-end',
    'station registered: R1-end',
    'signed in: ana',
    'sign-in failed: ana',
    'signed out: ana',
    'sign-in failed: nobody here',
  ]);
  const attempts = JSON.stringify(await app.store.sql.all('select * from failed_attempts'));
  const log = JSON.stringify(app.logged);
  expect(log).toContain('/api/session');
  for (const text of [log, attempts, JSON.stringify(notes)]) {
    for (const secret of [
      swapped.personId,
      PASSWORD,
      PIN,
      'guessed wrong today',
      ...station.cookies.values(),
    ])
      expect(text).not.toContain(secret);
  }
  await end();
});
