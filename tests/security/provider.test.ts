/**
 * Signing in by an OpenID Connect provider, against a real one on loopback. What has to be checked of an answer is
 * OpenID Connect Core 1.0 section 3.1.3.7 (ID token) and RFC 9700 (state, PKCE, codes that work once).
 */
import { generateKeyPairSync } from 'node:crypto';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { outsideOf } from '../../api/http/outside.ts';
import { VISIT_LASTS } from '../../api/oidc/provider.ts';
import { CALLBACK_PATH, providerSettings } from '../../api/oidc/settings.ts';
import { PASSWORD, TestBrowser } from '../api/sign-in/support.ts';
import { openApp, type TestApp } from '../api/support.ts';
import {
  CLIENT_SECRET,
  type IdentityProvider,
  type ProviderAccount,
  signedToken,
  startIdentityProvider,
} from './identity-provider.ts';

const HOME = 'http://localhost:8080';
const HOME_TLS = 'https://runtrue.example';

let idp: IdentityProvider;
beforeAll(async () => {
  idp = await startIdentityProvider([HOME, HOME_TLS].map((home) => home + CALLBACK_PATH));
});
afterAll(() => idp.close());

async function openPlant(environment: Record<string, string> = {}) {
  const given = {
    PUBLIC_URL: HOME,
    OIDC_ISSUER: idp.issuer,
    OIDC_CLIENT_ID: 'runtrue',
    OIDC_CLIENT_SECRET: CLIENT_SECRET,
    OIDC_NAME: 'the works account',
    ...environment,
  };
  const outside = outsideOf(given);
  const app = openApp({ signIn: true, outside, atProvider: providerSettings(given, outside) });
  const boss = new TestBrowser(app, given.PUBLIC_URL);
  await boss.call('POST /api/one-time-links/first-administrator', {
    body: { token: await app.signIn!.firstStart(), person: { id: 'boss', name: 'Boss' }, password: PASSWORD },
  });
  for (const id of ['kim', 'lee'])
    await boss.call('PUT /api/people/{id}', {
      params: { id },
      body: { record: { id, name: id, role: 'tech' } },
    });
  return { app, boss, home: given.PUBLIC_URL };
}

/** The answer to a browser that goes to an address by itself. */
function go(browser: TestBrowser, address: string, headers: Record<string, string> = {}): Promise<Response> {
  const Cookie = [...browser.cookies].map(([name, value]) => `${name}=${value}`).join('; ');
  return browser.send(new Request(address, { headers: { Cookie, Host: new URL(address).host, ...headers } }));
}

/** From the sign-in page to the provider and back, up to the address that the browser comes home with. */
async function begin(
  browser: TestBrowser,
  sub: string | null,
  account: ProviderAccount = {},
): Promise<string> {
  if (sub !== null) idp.accounts.set(sub, account);
  idp.state.next = sub;
  const begun = await go(browser, `${browser.origin}/api/sign-in/provider/begin`);
  expect(begun.status).toBe(303);
  return idp.visit(begun.headers.get('location')!);
}
const signIn = async (browser: TestBrowser, sub: string | null, account: ProviderAccount = {}) =>
  go(browser, await begin(browser, sub, account));

const whoIs = async (browser: TestBrowser): Promise<string | null> =>
  (await browser.call('GET /api/session')).person?.id ?? null;

describe('an account at the provider', () => {
  let app: TestApp;
  let boss: TestBrowser;
  beforeAll(async () => {
    ({ app, boss } = await openPlant());
  });
  afterAll(() => app.close());

  it('is nobody here until an administrator says who it is; then it is that person', async () => {
    const browser = new TestBrowser(app);
    const account = { name: 'Kim Doe', email: 'kim@runtrue.example', email_verified: true };
    const first = await signIn(browser, 'sub-kim', account);
    expect(first.status).toBe(403);
    expect((await first.json()).detail).toContain('Ask an administrator to bind your account');
    expect(await whoIs(browser)).toBeNull();

    const [identity] = await boss.call('GET /api/identities');
    expect(identity).toMatchObject({ name: 'Kim Doe', email: 'kim@runtrue.example', personId: null });
    const body = { personId: 'kim' };
    await boss.call('PUT /api/identities/{id}', { params: { id: identity.id }, body });

    const second = await signIn(browser, 'sub-kim', account);
    expect([second.status, second.headers.get('location')]).toEqual([303, '/']);
    const session = browser.set.find((line) => line.startsWith('runtrue-session='))!;
    expect(session).toMatch(/; HttpOnly; SameSite=Strict$/);
    expect(await whoIs(browser)).toBe('kim');
    expect(await boss.call('GET /api/identities')).toHaveLength(1);

    // What the administrator takes back ends at once.
    await boss.call('PUT /api/identities/{id}', { params: { id: identity.id }, body: { personId: null } });
    expect(await whoIs(browser)).toBeNull();
    expect((await signIn(browser, 'sub-kim', account)).status).toBe(403);
    const notes = await app.store.sql.all<{ what: string }>(
      "select what from audit_notes where about = 'kim'",
    );
    expect(notes.map(({ what }) => what)).toEqual(
      expect.arrayContaining(['identity bound', 'signed in', 'identity unbound', 'signed out everywhere']),
    );
  });

  it('may be announced by its verified address, once; from then on its subject counts', async () => {
    const body = { email: 'Lee@Runtrue.example', personId: 'lee' };
    await boss.call('POST /api/identities', { body });
    expect((await boss.refused('POST /api/identities', { body })).status).toBe(409);
    const account = { name: 'Lee', email: 'lee@runtrue.example', email_verified: true };
    // Anybody can write an address into an account; the provider has to have checked it.
    const liar = new TestBrowser(app);
    expect((await signIn(liar, 'sub-liar', { ...account, email_verified: false })).status).toBe(403);
    const browser = new TestBrowser(app);
    expect((await signIn(browser, 'sub-lee', account)).status).toBe(303);
    expect(await whoIs(browser)).toBe('lee');
    // The address was given to somebody new: they are not the one who had it.
    const heir = new TestBrowser(app);
    expect((await signIn(heir, 'sub-heir', account)).status).toBe(403);
    expect(await whoIs(heir)).toBeNull();
    // Its owner has another address now, and stays who they are.
    const moved = new TestBrowser(app);
    expect((await signIn(moved, 'sub-lee', { ...account, email: 'lee@new.example' })).status).toBe(303);
  });

  it('that comes for the first time in several browsers at once is one account', async () => {
    const account = { name: 'Many', email: 'many@runtrue.example', email_verified: true };
    const browsers = Array.from({ length: 4 }, () => new TestBrowser(app));
    const addresses: string[] = [];
    for (const browser of browsers) addresses.push(await begin(browser, 'sub-many', account));
    const answers = await Promise.all(browsers.map((browser, no) => go(browser, addresses[no]!)));
    expect(answers.map(({ status }) => status)).toEqual([403, 403, 403, 403]);
    const all: { name: string }[] = await boss.call('GET /api/identities');
    expect(all.filter(({ name }) => name === 'Many')).toHaveLength(1);
  });

  it('is bound by administrators only, and only to people there are', async () => {
    const body = { personId: 'nobody' };
    const [identity] = await boss.call('GET /api/identities');
    const params = { id: identity.id };
    expect((await boss.refused('PUT /api/identities/{id}', { params, body })).errors[0]!.field).toBe(
      'personId',
    );
    const stranger = new TestBrowser(app);
    for (const key of ['GET /api/identities', 'POST /api/identities', 'PUT /api/identities/{id}'] as const)
      expect(
        (await stranger.refused(key, { params, ...(key.startsWith('GET') ? {} : { body }) })).status,
      ).toBe(401);
  });

  it('whose owner cancels is told so, on a page where a browser asks for one', async () => {
    const browser = new TestBrowser(app);
    const refused = await signIn(browser, null);
    expect(refused.status).toBe(403);
    expect((await refused.json()).detail).toContain('did not let you through, or you cancelled');
    const address = await begin(browser, null);
    const page = await go(browser, address, { Accept: 'text/html,*/*;q=0.8' });
    expect([page.status, page.headers.get('content-type')]).toEqual([403, 'text/html; charset=UTF-8']);
    expect(await page.text()).toMatch(/<h1>Not signed in<\/h1>[\s\S]*href="\/sign-in"/);
  });

  it('cannot be used where the provider calls itself something else than it was set up as', async () => {
    const other = await openPlant({ OIDC_ISSUER: idp.issuer.replace('127.0.0.1', 'localhost') });
    const refused = await go(new TestBrowser(other.app), `${HOME}/api/sign-in/provider/begin`);
    expect(refused.status).toBe(503);
    expect(other.app.logged.at(-1)).toMatchObject({ msg: 'the sign-in provider could not be asked' });
    await other.app.close();
  });

  it('cannot be used while the provider is down, and can when it is back', async () => {
    const other = await openPlant();
    const browser = new TestBrowser(other.app);
    idp.state.down = true;
    const refused = await go(browser, `${HOME}/api/sign-in/provider/begin`);
    idp.state.down = false;
    expect(refused.status).toBe(503);
    expect((await refused.json()).detail).toContain('does not answer');
    expect((await go(browser, `${HOME}/api/sign-in/provider/begin`)).status).toBe(303);
    await other.app.close();
  });
});

describe('a sign-in that is not as it was begun', () => {
  let app: TestApp;
  let boss: TestBrowser;
  const account = { name: 'Kim', email: 'kim@runtrue.example', email_verified: true };
  beforeAll(async () => {
    ({ app, boss } = await openPlant());
    await boss.call('POST /api/identities', { body: { email: account.email, personId: 'kim' } });
    expect((await signIn(new TestBrowser(app), 'sub-kim', account)).status).toBe(303);
  });
  afterAll(() => app.close());

  const refusedAt = async (browser: TestBrowser, address: string) => {
    const response = await go(browser, address);
    expect(response.status).toBe(403);
    expect(browser.set.filter((line) => /session=./.test(line))).toEqual([]);
    expect(await whoIs(browser)).toBeNull();
    return (await response.json()).detail as string;
  };
  const changed = (address: string, name: string, value: string): string => {
    const url = new URL(address);
    url.searchParams.set(name, value);
    return url.href;
  };

  it('has another state', async () => {
    const browser = new TestBrowser(app);
    const address = await begin(browser, 'sub-kim', account);
    expect(await refusedAt(browser, changed(address, 'state', 'another'))).toContain('could not be verified');
  });

  it('comes from another provider than it was begun with (RFC 9207)', async () => {
    const browser = new TestBrowser(app);
    const address = await begin(browser, 'sub-kim', account);
    expect(new URL(address).searchParams.get('iss')).toBe(idp.issuer);
    const detail = await refusedAt(browser, changed(address, 'iss', 'https://elsewhere.example'));
    expect(detail).toContain('could not be verified');
  });

  it('comes back to another browser', async () => {
    const address = await begin(new TestBrowser(app), 'sub-kim', account);
    expect(await refusedAt(new TestBrowser(app), address)).toContain('not begun here');
    // Nor to one that has begun a sign-in of its own.
    const victim = new TestBrowser(app);
    await go(victim, `${HOME}/api/sign-in/provider/begin`);
    expect(await refusedAt(victim, address)).toContain('could not be verified');
  });

  it('comes back a second time', async () => {
    const browser = new TestBrowser(app);
    const address = await begin(browser, 'sub-kim', account);
    const visit = new Map(browser.cookies);
    expect((await go(browser, address)).status).toBe(303);
    const again = new TestBrowser(app);
    for (const [name, value] of visit) again.cookies.set(name, value);
    expect(await refusedAt(again, address)).toContain('is over');
  });

  it('brings a code that was used, in a sign-in begun anew', async () => {
    const browser = new TestBrowser(app);
    const used = await begin(browser, 'sub-kim', account);
    expect((await go(browser, used)).status).toBe(303);
    const thief = new TestBrowser(app);
    const own = await begin(thief, 'sub-kim', account);
    const code = new URL(used).searchParams.get('code')!;
    expect(await refusedAt(thief, changed(own, 'code', code))).toContain('could not be verified');
  });

  it('brings a code that was stolen before it was used: it works only with the verifier of its own browser', async () => {
    const stolen = new URL(await begin(new TestBrowser(app), 'sub-kim', account)).searchParams.get('code')!;
    const thief = new TestBrowser(app);
    const own = await begin(thief, 'sub-thief', { name: 'Thief' });
    expect(await refusedAt(thief, changed(own, 'code', stolen))).toContain('could not be verified');
  });

  it('takes too long here', async () => {
    const browser = new TestBrowser(app);
    const address = await begin(browser, 'sub-kim', account);
    app.clock.time += VISIT_LASTS + 1;
    expect(await refusedAt(browser, address)).toContain('took too long');
  });

  it('takes too long there: the code has expired', async () => {
    const slow = await openPlant({ OIDC_CLIENT_ID: 'runtrue-slow' });
    const browser = new TestBrowser(slow.app);
    const address = await begin(browser, 'sub-kim', account);
    await new Promise((done) => setTimeout(done, 2100));
    const response = await go(browser, address);
    expect(response.status).toBe(403);
    expect(slow.app.logged.at(-1)).toMatchObject({ msg: 'a sign-in by the provider was refused' });
    await slow.app.close();
  });

  const strange = generateKeyPairSync('rsa', { modulusLength: 2048 }).privateKey;
  const own = (claims: object) => signedToken(claims, idp.privateKey, 'one');
  const now = () => Math.floor(Date.now() / 1000);
  it.each<[string, (claims: Record<string, unknown>) => string, RegExp]>([
    ['is for another audience', (claims) => own({ ...claims, aud: 'somebody-else' }), /"aud"/],
    [
      'is for several, and was asked for by another',
      (claims) => own({ ...claims, aud: ['runtrue', 'somebody-else'], azp: 'somebody-else' }),
      /"azp"|"aud"/,
    ],
    ['is from another issuer', (claims) => own({ ...claims, iss: 'https://elsewhere.example' }), /"iss"/],
    ['answers another request', (claims) => own({ ...claims, nonce: 'another' }), /"nonce"/],
    ['answers no request', ({ nonce: _, ...claims }) => own(claims), /"nonce"/],
    ['has expired', (claims) => own({ ...claims, iat: now() - 7200, exp: now() - 3600 }), /"exp"|timestamp/],
    ['is signed by somebody else', (claims) => signedToken(claims, strange, 'one'), /signature/],
    [
      'is not signed',
      (claims) =>
        `${Buffer.from('{"alg":"none"}').toString('base64url')}.${Buffer.from(JSON.stringify(claims)).toString('base64url')}.`,
      /alg/,
    ],
    [
      'says something else than it was signed for',
      (claims) =>
        [
          ...own({ ...claims, sub: 'somebody' })
            .split('.')
            .slice(0, 2),
          own(claims).split('.')[2],
        ].join('.'),
      /signature/,
    ],
  ])('has an ID token that %s', async (_, forge, reason) => {
    const browser = new TestBrowser(app);
    const address = await begin(browser, 'sub-kim', account);
    idp.state.forge = forge;
    const detail = await refusedAt(browser, address).finally(() => {
      idp.state.forge = null;
    });
    expect(detail).toContain('could not be verified');
    const { reason: logged } = app.logged.at(-1) as { reason: string };
    expect(logged).toMatch(reason);
  });

  it('is the only thing that is refused: the same forger with the true claims gets in', async () => {
    const browser = new TestBrowser(app);
    const address = await begin(browser, 'sub-kim', account);
    idp.state.forge = own;
    expect((await go(browser, address)).status).toBe(303);
    idp.state.forge = null;
  });

  it('leaves no secret in the log', () => {
    expect(app.logged.length).toBeGreaterThan(5);
    const text = JSON.stringify(app.logged);
    expect(text).not.toContain(CLIENT_SECRET);
    expect(text).not.toMatch(/eyJ[\w-]{10}/);
    expect(text).not.toMatch(/code=|id_token"|access_token"/);
  });
});

describe('roles that the provider gives', () => {
  it('are taken over at each sign-in, on the record; without one nobody comes in', async () => {
    const { app, boss } = await openPlant({
      OIDC_ROLE_CLAIM: 'groups',
      OIDC_ROLES: 'wheels-quality=quality-manager, wheels-process=engineer,wheels=tech',
    });
    await boss.call('POST /api/identities', { body: { email: 'kim@runtrue.example', personId: 'kim' } });
    const account = { email: 'kim@runtrue.example', email_verified: true };
    const roleAfter = async (groups: string[]) => {
      const browser = new TestBrowser(app);
      const { status } = await signIn(browser, 'sub-role', { ...account, groups });
      return [status, (await browser.call('GET /api/session')).person?.role ?? null];
    };
    expect(await roleAfter(['wheels', 'wheels-process'])).toEqual([303, 'engineer']);
    expect(await roleAfter(['wheels', 'canteen'])).toEqual([303, 'tech']);
    expect(await roleAfter(['canteen'])).toEqual([403, null]);
    const changes = await app.store.plantChanges('people', 'kim');
    expect(changes.map(({ after, reason }) => [(after as { role: string }).role, reason])).toEqual(
      expect.arrayContaining([['engineer', 'The role as the works account gives it']]),
    );
    await app.close();
  });
});

describe('how strongly the provider has proven it', () => {
  const account = { email: 'kim@runtrue.example', email_verified: true };
  async function openFor(environment: Record<string, string>) {
    const { app, boss } = await openPlant(environment);
    await boss.call('POST /api/identities', { body: { email: 'kim@runtrue.example', personId: 'kim' } });
    return app;
  }
  afterEach(() => {
    idp.state.proof = {};
    idp.state.forge = null;
  });

  it.each<[string, Record<string, string>, IdentityProvider['state']['proof'], number]>([
    ['any, where none is asked for', {}, {}, 303],
    ['the class that is asked for', { OIDC_ACR: 'silver gold' }, { acr: 'gold' }, 303],
    ['another class', { OIDC_ACR: 'silver gold' }, { acr: 'bronze' }, 403],
    ['no class', { OIDC_ACR: 'gold' }, {}, 403],
    ['a way that is asked for, among others', { OIDC_AMR: 'mfa, hwk' }, { amr: ['pwd', 'mfa'] }, 303],
    ['another way', { OIDC_AMR: 'mfa' }, { amr: ['pwd'] }, 403],
    ['no way', { OIDC_AMR: 'mfa' }, {}, 403],
    ['the class without the way', { OIDC_ACR: 'gold', OIDC_AMR: 'mfa' }, { acr: 'gold' }, 403],
  ])('%s', async (_, environment, proof, status) => {
    const app = await openFor(environment);
    idp.state.proof = proof;
    const browser = new TestBrowser(app);
    const answer = await signIn(browser, 'sub-strong', account);
    expect(answer.status).toBe(status);
    if (status === 403) expect((await answer.json()).detail).toContain('not prove you strongly enough');
    expect(await whoIs(browser)).toBe(status === 303 ? 'kim' : null);
    await app.close();
  });

  it('is asked for, so that the provider can ask for more', async () => {
    const app = await openFor({ OIDC_ACR: 'silver gold', OIDC_MAX_AGE: '90' });
    const begun = await go(new TestBrowser(app), `${HOME}/api/sign-in/provider/begin`);
    const asked = new URL(begun.headers.get('location')!).searchParams;
    expect([asked.get('acr_values'), asked.get('max_age')]).toEqual(['silver gold', '5400']);
    await app.close();
  });

  it('and when: too long ago is refused, and a session here ends twelve hours after it', async () => {
    const app = await openFor({ OIDC_MAX_AGE: '90' });
    app.clock.time = Date.now();
    const provenBefore = async (minutes: number) => {
      const browser = new TestBrowser(app);
      const address = await begin(browser, 'sub-old', account);
      const auth_time = Math.floor(Date.now() / 1000) - minutes * 60;
      idp.state.forge = (claims) => signedToken({ ...claims, auth_time }, idp.privateKey, 'one');
      return [browser, (await go(browser, address)).status] as const;
    };
    expect((await provenBefore(95))[1]).toBe(403);
    const [browser, status] = await provenBefore(60);
    expect(status).toBe(303);
    // At work all the time, and signed out after eleven hours: the twelfth was before they came here.
    for (let hour = 0; hour < 11; hour++) {
      expect(await whoIs(browser)).toBe('kim');
      app.clock.time += 3_600_000;
      if (hour < 10) await browser.call('POST /api/session/use');
    }
    app.clock.time += 60_000;
    expect(await whoIs(browser)).toBeNull();
    await app.close();
  });
});

describe('over https', () => {
  it('both cookies are Secure, and no other host can plant the one of the session', async () => {
    const { app, boss, home } = await openPlant({ PUBLIC_URL: HOME_TLS });
    await boss.call('POST /api/identities', { body: { email: 'kim@runtrue.example', personId: 'kim' } });
    const browser = new TestBrowser(app, home);
    const begun = await go(browser, `${home}/api/sign-in/provider/begin`);
    expect(begun.headers.getSetCookie()[0]).toMatch(
      /^runtrue-provider-visit=[\w-]{43}; Max-Age=600; Path=\/api\/sign-in\/provider\/callback; HttpOnly; Secure; SameSite=Lax$/,
    );
    const account = { email: 'kim@runtrue.example', email_verified: true };
    expect((await signIn(browser, 'sub-tls', account)).status).toBe(303);
    expect(browser.set.find((line) => line.includes('session'))).toMatch(
      /^__Host-runtrue-session=[\w-]{43}; .*; Secure$/,
    );
    await app.close();
  });
});

describe('settings', () => {
  const folder = mkdtempSync(join(tmpdir(), 'runtrue-oidc-'));
  afterAll(() => rmSync(folder, { recursive: true }));
  const given = { PUBLIC_URL: HOME_TLS, OIDC_ISSUER: 'https://id.example', OIDC_CLIENT_ID: 'runtrue' };
  const read = (changes: Record<string, string> = {}) => {
    const environment = { ...given, ...changes };
    return providerSettings(environment, outsideOf(environment));
  };

  it('are few, and the secret may stand in a file', () => {
    expect(read({ OIDC_ISSUER: '' })).toBeNull();
    expect(read()).toMatchObject({
      clientSecret: null,
      name: 'id.example',
      redirectUri: 'https://runtrue.example/api/sign-in/provider/callback',
    });
    const file = join(folder, 'secret');
    writeFileSync(file, 'hush\n');
    expect(read({ OIDC_CLIENT_SECRET_FILE: file })?.clientSecret).toBe('hush');
  });

  it.each<[Record<string, string>, string]>([
    [{ OIDC_ISSUER: 'http://id.example' }, 'must be an https address'],
    [{ OIDC_ISSUER: 'id.example' }, 'must be an https address'],
    [{ OIDC_CLIENT_ID: '' }, 'OIDC_CLIENT_ID is missing'],
    [{ OIDC_MAX_AGE: 'soon' }, 'OIDC_MAX_AGE must be a whole number of minutes'],
    [{ PUBLIC_URL: '' }, 'needs PUBLIC_URL'],
    [{ OIDC_CLIENT_SECRET_FILE: '/nowhere/secret' }, 'cannot be read (ENOENT)'],
    [{ OIDC_CLIENT_SECRET: 'x', OIDC_CLIENT_SECRET_FILE: '/nowhere/secret' }, 'not both'],
    [{ OIDC_ROLE_CLAIM: 'groups' }, 'belong together'],
    [{ OIDC_ROLE_CLAIM: 'groups', OIDC_ROLES: 'a=chief' }, 'must list pairs'],
    [{ OIDC_ROLE_CLAIM: 'groups', OIDC_ROLES: '=tech' }, 'must list pairs'],
  ])('%j is refused in words', (changes, words) => {
    expect(() => read(changes)).toThrow(words);
  });
});
