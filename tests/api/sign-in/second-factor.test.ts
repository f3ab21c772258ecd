/** The second factor beside a password. Rows 6.3.3, 6.4.3, 6.4.4, 6.5.1 to 6.5.5 of docs/security.md. */
import { randomBytes } from 'node:crypto';
import { beforeAll, describe, expect, it } from 'vitest';
import type { OwnSession } from '../../../api/schemas.ts';
import { sealingBy } from '../../../api/sealing.ts';
import {
  authenticatorAddress,
  newAuthenticatorSecret,
  stepOf,
} from '../../../api/sign-in/one-time-passwords.ts';
import { createSignIn } from '../../../api/sign-in/sign-in.ts';
import type { TestApp } from '../support.ts';
import { codeAt, fromBase32, setUpSecondFactor } from './authenticator.ts';
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

const STEP = 30_000;

describe('codes of authenticators', () => {
  /** "12345678901234567890" in base32. */
  const secret = 'GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ';

  it('are those of RFC 4226, appendix D', () => {
    const published = '755224 287082 359152 969429 338314 254676 287922 162583 399871 520489'.split(' ');
    published.forEach((code, counter) => {
      expect(stepOf(secret, code, counter * STEP)).toBe(counter);
      expect(codeAt(secret, counter * STEP)).toBe(code);
    });
  });

  it.each([
    [59, '94287082'],
    [1_111_111_109, '07081804'],
    [1_111_111_111, '14050471'],
    [1_234_567_890, '89005924'],
    [2_000_000_000, '69279037'],
    [20_000_000_000, '65353130'],
  ])('are those of RFC 6238, appendix B, for %i s: the last six of its eight digits', (seconds, eight) => {
    expect(stepOf(secret, eight.slice(-6), seconds * 1000)).toBe(Math.floor(seconds / 30));
  });

  it('count one step to either side, and no further', () => {
    const now = 1_700_000_010_000;
    const step = Math.floor(now / STEP);
    const found = [-2, -1, 0, 1, 2].map((by) => stepOf(secret, codeAt(secret, now + by * STEP), now));
    expect(found).toEqual([null, step - 1, step, step + 1, null]);
  });

  it('come from 160 random bits, and the picture says all that an authenticator has to know', () => {
    const [one, other] = [newAuthenticatorSecret(), newAuthenticatorSecret()];
    expect(fromBase32(one)).toHaveLength(20);
    expect(one).not.toBe(other);
    const address = new URL(authenticatorAddress(one, 'Kim & Lee: +1'));
    expect(address.protocol).toBe('otpauth:');
    expect(address.searchParams.get('secret')).toBe(one);
    expect(Object.fromEntries(address.searchParams)).toMatchObject({
      issuer: 'Runtrue',
      digits: '6',
      period: '30',
    });
  });
});

describe('a plant', () => {
  let app: TestApp;
  let administrator: TestBrowser;
  let newBrowser: (origin?: string) => TestBrowser;
  beforeAll(async () => {
    ({ app, administrator, newBrowser } = await openSignedInApp());
    await addStation(administrator);
    return () => app.close();
  });

  const withCode = (personId: string, code?: string) => ({
    body: { personId, password: PASSWORD, ...(code !== undefined && { code }) },
  });
  const later = (steps = 1): number => {
    app.clock.time += steps * STEP;
    return app.clock.time;
  };
  /** Long enough for every wait after wrong codes; the administrator stays at work. */
  const anHourLater = async (): Promise<void> => {
    app.clock.time += 3_600_000;
    await administrator.call('POST /api/session/use');
  };
  const notesAbout = async (id: string): Promise<string[]> =>
    (
      await app.store.sql.all<{ what: string }>(
        'select what from audit_notes where about = ? order by no',
        id,
      )
    ).map(({ what }) => what);

  it('lets an administrator who signs in by a password alone set up a second factor, and nothing else', async () => {
    const browser = newBrowser();
    await browser.signIn('boss', { password: PASSWORD });
    const session = await browser.call('GET /api/session');
    expect([session.limited, session.may]).toEqual([true, ['come in', 'look after their own sign-in']]);
    for (const key of ['GET /api/plant', 'GET /api/accounts', 'GET /api/second-factor/roles'] as const) {
      const refused = await browser.refused(key);
      expect([refused.status, refused.detail]).toEqual([
        403,
        expect.stringContaining('Set up a second factor first'),
      ]);
    }
    // Changing the password is no way round.
    const body = { current: PASSWORD, password: `${PASSWORD} anew` };
    await browser.call('PUT /api/session/secrets', { body });
    expect((await browser.refused('GET /api/accounts')).status).toBe(403);
    await browser.call('PUT /api/session/secrets', { body: { current: body.password, password: PASSWORD } });

    expect(
      (await browser.refused('POST /api/second-factor', { body: { current: 'not it' } })).errors[0]!.field,
    ).toBe('current');
    const early = await browser.refused('PUT /api/second-factor', { body: { code: '123456' } });
    expect(early.detail).toContain('begin again');
    const begun = await browser.call('POST /api/second-factor', { body: { current: PASSWORD } });
    expect(await browser.call('GET /api/second-factor')).toEqual({ on: false, recoveryCodesLeft: 0 });
    const wrong = await browser.refused('PUT /api/second-factor', {
      body: { code: codeAt(begun.secret, app.clock.time + 4 * STEP) },
    });
    expect(wrong.errors[0]!.field).toBe('code');
    await browser.call('PUT /api/second-factor', {
      body: { code: codeAt(begun.secret, app.clock.time) },
    });
    expect(new Set(begun.recoveryCodes).size).toBe(10);
    expect(await browser.call('GET /api/second-factor')).toEqual({ on: true, recoveryCodesLeft: 10 });
    expect((await browser.call('GET /api/session')).limited).toBe(false);
    await browser.call('GET /api/accounts');
    // Whoever was signed in as them elsewhere is not any more.
    expect((await administrator.refused('GET /api/accounts')).status).toBe(401);
    expect(await notesAbout('boss')).toContain('second factor set up');

    administrator = newBrowser();
    await administrator.call('POST /api/session', withCode('boss', codeAt(begun.secret, later())));
    expect(await administrator.call('GET /api/accounts')).toEqual([
      { personId: 'boss', hasPassword: true, hasPin: false, hasSecondFactor: true },
    ]);
  });

  it('asks whoever has one for the code, each of which works once', async () => {
    const ana = await addPerson(administrator, 'ana', 'tech');
    const { secret } = await setUpSecondFactor(ana);
    const missing = await newBrowser().refused('POST /api/session', withCode('ana'));
    expect([missing.status, missing.errors[0]!.field]).toEqual([401, 'code']);
    // The code that set it up has been seen.
    expect(
      (await newBrowser().refused('POST /api/session', withCode('ana', codeAt(secret, app.clock.time))))
        .status,
    ).toBe(401);
    const code = codeAt(secret, later());
    // A wrong password is told before any code is looked at, and uses none up.
    const guess = { body: { personId: 'ana', password: 'not the password', code } };
    expect((await newBrowser().refused('POST /api/session', guess)).errors[0]!.field).toBe('secret');
    await newBrowser().call('POST /api/session', withCode('ana', `${code.slice(0, 3)} ${code.slice(3)}`));
    const again = await newBrowser().refused('POST /api/session', withCode('ana', code));
    expect([again.status, again.errors[0]!.field]).toEqual([401, 'code']);
    // Nor an earlier one.
    expect(
      (
        await newBrowser().refused(
          'POST /api/session',
          withCode('ana', codeAt(secret, app.clock.time - STEP)),
        )
      ).status,
    ).toBe(401);
    expect((await notesAbout('ana')).filter((what) => what === 'sign-in failed').length).toBeGreaterThan(2);
  });

  it('takes a code once, of many at the same moment', async () => {
    const bo = await addPerson(administrator, 'bo', 'tech');
    const { secret, recoveryCodes } = await setUpSecondFactor(bo);
    const code = codeAt(secret, later());
    const inOne = async (given: string): Promise<number> =>
      (await newBrowser().send(newBrowser().request('POST /api/session', withCode('bo', given)))).status;
    for (const given of [code, recoveryCodes[0]!]) {
      const statuses = await Promise.all([1, 2, 3].map(() => inOne(given)));
      expect(
        statuses.filter((status) => status === 200),
        given,
      ).toHaveLength(1);
      await anHourLater();
    }
  });

  it('takes each recovery code once, however it is typed, and keeps only hashes', async () => {
    const cy = await addPerson(administrator, 'cy', 'tech');
    const { secret, recoveryCodes } = await setUpSecondFactor(cy);
    const typed = recoveryCodes[3]!.toLowerCase().replace('-', ' ');
    await newBrowser().call('POST /api/session', withCode('cy', typed));
    expect((await newBrowser().refused('POST /api/session', withCode('cy', recoveryCodes[3]!))).status).toBe(
      401,
    );
    expect((await cy.call('GET /api/second-factor')).recoveryCodesLeft).toBe(9);
    const sessions: OwnSession[] = await cy.call('GET /api/sessions');
    expect(sessions.map(({ way }) => way)).toContain('password and recovery code');
    expect(await notesAbout('cy')).toContain('recovery code used');
    const kept = JSON.stringify([
      await app.store.sql.all('select * from second_factors'),
      await app.store.sql.all('select * from recovery_codes'),
      await app.store.sql.all('select * from audit_notes'),
      app.logged,
    ]);
    for (const one of [secret, ...recoveryCodes]) expect(kept).not.toContain(one);
    // What was begun and not finished changes nothing.
    const begun = await cy.call('POST /api/second-factor', { body: { current: PASSWORD } });
    expect(
      (await newBrowser().refused('POST /api/session', withCode('cy', begun.recoveryCodes[0]))).status,
    ).toBe(401);
    await newBrowser().call('POST /api/session', withCode('cy', recoveryCodes[5]!));
    // Setting it up anew makes those before worthless.
    await anHourLater();
    const anew = await newBrowser();
    await anew.call('POST /api/session', withCode('cy', codeAt(secret, app.clock.time)));
    later();
    await setUpSecondFactor(anew);
    expect((await newBrowser().refused('POST /api/session', withCode('cy', recoveryCodes[4]!))).status).toBe(
      401,
    );
    expect(
      (await newBrowser().refused('POST /api/session', withCode('cy', codeAt(secret, later())))).status,
    ).toBe(401);
  });

  it('slows guessed codes, without closing the way by PIN', async () => {
    const dee = await addPerson(administrator, 'dee', 'tech');
    const { secret } = await setUpSecondFactor(dee);
    const station = await registerStation(administrator);
    const statuses = [];
    for (let no = 0; no < 5; no++)
      statuses.push((await newBrowser().refused('POST /api/session', withCode('dee', '000000'))).status);
    expect(statuses).toEqual([401, 401, 401, 429, 429]);
    expect(
      (await newBrowser().refused('POST /api/session', withCode('dee', codeAt(secret, later(0))))).status,
    ).toBe(429);
    await station.signIn('dee', { pin: PIN });
    await anHourLater();
    await newBrowser().call('POST /api/session', withCode('dee', codeAt(secret, app.clock.time)));
  });

  it('asks for no code at a registered station, which is the second thing itself', async () => {
    const eve = await addPerson(administrator, 'eve', 'quality-manager');
    await setUpSecondFactor(eve);
    const station = await registerStation(administrator);
    await station.signIn('eve', { password: PASSWORD });
    expect((await station.call('GET /api/session')).limited).toBe(false);
  });

  it('does not let a one-time link go round a second factor', async () => {
    const fay = await addPerson(administrator, 'fay', 'tech');
    const { secret } = await setUpSecondFactor(fay);
    const link = await administrator.call('POST /api/accounts/{id}/link', { params: { id: 'fay' } });
    const body = { token: link.secret, password: 'eight loud hammers' };
    const browser = newBrowser();
    expect(
      (await browser.call('POST /api/one-time-links/look', { body: { token: link.secret } })).needsCode,
    ).toBe(true);
    const refused = await browser.refused('POST /api/one-time-links/secrets', { body });
    expect([refused.status, refused.errors[0]!.field]).toEqual([401, 'code']);
    await browser.call('POST /api/one-time-links/secrets', {
      body: { ...body, code: codeAt(secret, later()) },
    });
    expect((await browser.call('GET /api/session')).person.id).toBe('fay');
  });

  it('has it reset by another administrator, on record', async () => {
    const gus = await addPerson(administrator, 'gus', 'tech');
    await setUpSecondFactor(gus);
    const own = await administrator.refused('DELETE /api/accounts/{id}/second-factor', {
      params: { id: 'boss' },
    });
    expect(own.status).toBe(409);
    const nobody = await administrator.refused('DELETE /api/accounts/{id}/second-factor', {
      params: { id: 'nobody' },
    });
    expect(nobody.status).toBe(404);
    await administrator.call('DELETE /api/accounts/{id}/second-factor', { params: { id: 'gus' } });
    expect((await gus.refused('GET /api/plant')).status).toBe(401);
    await newBrowser().signIn('gus', { password: PASSWORD });
    expect(await notesAbout('gus')).toContain('second factor reset');
  });

  it('decides for which roles a password alone is not enough; it counts from their next sign-in', async () => {
    const roles = async () => (await administrator.call('GET /api/second-factor/roles')).roles;
    expect(await roles()).toEqual(['administrator', 'quality-manager']);
    const hal = await addPerson(administrator, 'hal', 'engineer');
    const limited = async () => {
      const browser = newBrowser();
      await browser.signIn('hal', { password: PASSWORD });
      return (await browser.call('GET /api/session')).limited;
    };
    expect(await limited()).toBe(false);
    await administrator.call('PUT /api/second-factor/roles', { body: { roles: ['engineer'] } });
    expect(await limited()).toBe(true);
    await hal.call('GET /api/plant');
    await administrator.call('PUT /api/second-factor/roles', { body: { roles: [] } });
    expect(await limited()).toBe(false);
    expect(await notesAbout('sign-in')).toEqual(['second factor asked of', 'second factor asked of']);
  });

  it('says so where another key than that of this server sealed it; recovery codes still work', async () => {
    const ida = await addPerson(administrator, 'ida', 'tech');
    const { secret, recoveryCodes } = await setUpSecondFactor(ida);
    const otherNode = createSignIn({
      store: app.store,
      monitoring: app.monitoring,
      clock: app.clock,
      sealing: sealingBy(randomBytes(32)),
    });
    const begin = (code: string) =>
      otherNode.begin(new Request(`${ADDRESS}/api/session`), '192.0.2.7', {
        personId: 'ida',
        password: PASSWORD,
        code,
      });
    await expect(begin(codeAt(secret, later()))).rejects.toThrow(/SECRETS_KEY_FILE/);
    expect(await begin(recoveryCodes[0]!)).toHaveLength(1);
  });
});
