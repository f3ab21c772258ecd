/** The table of who may do what, row by row: every endpoint with every role, over HTTP. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { contract, type EndpointKey } from '../../api/contract.ts';
import { type Action, permissions, roleMay } from '../../api/permissions.ts';
import { Role } from '../../api/schemas.ts';
import { PERSON_HEADER } from '../../api/who.ts';
import {
  addPerson,
  addStation,
  openSignedInApp,
  registerStation,
  type TestBrowser,
} from './sign-in/support.ts';
import { openApp, setUpPlant, type TestApp } from './support.ts';

/** Written out once more, by hand: a change of the table has to be made here as well. */
const expected: Record<Action, string> = {
  'come in': 'anyone',
  read: 'tech engineer supervisor quality-manager administrator',
  'look after their own sign-in': 'tech engineer supervisor quality-manager administrator',
  'enter samples': 'tech engineer supervisor quality-manager',
  'correct samples': 'tech engineer supervisor quality-manager',
  'declare missed samples': 'tech engineer supervisor quality-manager',
  'record events': 'tech engineer supervisor quality-manager',
  'work on alarms': 'tech engineer supervisor quality-manager',
  'state first pieces': 'tech',
  'approve first pieces': 'engineer',
  'close alarms': 'engineer quality-manager',
  'import samples': 'tech engineer supervisor quality-manager',
  'freeze control limits': 'engineer',
  'change the plant': 'engineer quality-manager administrator',
  'change specifications and sampling plans': 'engineer quality-manager',
  'manage people': 'administrator',
  'register stations': 'administrator',
  'manage keys': 'administrator',
  'take a backup': 'administrator',
  'read metrics': 'administrator',
  'shelve alarms': 'engineer supervisor quality-manager',
  'hand over a shift': 'supervisor',
  'grant concessions': 'quality-manager',
  'route alarms': 'engineer quality-manager administrator',
  'look after messages': 'engineer supervisor quality-manager administrator',
};

it('is the table that was agreed', () => {
  const table = Object.entries(permissions).map(([action, roles]) => [
    action,
    typeof roles === 'string' ? roles : roles.join(' '),
  ]);
  expect(Object.fromEntries(table)).toEqual(expected);
});

/** Doors that are registered by hand beside the contract. */
const byHand: readonly (readonly [string, Action])[] = [
  ['POST /api/imports', 'import samples'],
  ['GET /api/export.csv', 'read'],
  ['GET /api/backup', 'take a backup'],
  ['GET /api/alarm-report.csv', 'read'],
  ['GET /api/stream', 'read'],
  ['POST /api/calculations/{name}', 'read'],
];
const doors = [...Object.entries(contract).map(([key, { action }]) => [key, action] as const), ...byHand];

/** Empty as it is, the request is refused for what it lacks; what counts here is that the person is asked first. */
function emptyRequest(key: string, person: string): Request {
  const [method, template] = key.split(' ') as [string, string];
  const init: RequestInit = { method, headers: { [PERSON_HEADER]: person } };
  if (method !== 'GET') init.body = '{';
  return new Request(`http://127.0.0.1${template.replace(/\{\w+\}/g, 'none')}`, init);
}

describe.each(doors)('%s', (key, action) => {
  let app: TestApp;
  beforeAll(async () => {
    app = shared ?? (await open());
  });

  it.each(Role.options)('as %s', async (role) => {
    const response = await app.fetch(emptyRequest(key, role));
    await response.body?.cancel();
    expect(response.status === 403).toBe(!roleMay(role, action));
    expect(response.status).not.toBe(401);
  });

  it('as somebody nobody knows', async () => {
    const response = await app.fetch(emptyRequest(key, 'nobody'));
    await response.body?.cancel();
    const open = action === 'come in' || action === 'read' || action === 'import samples';
    const signed = 'signed' in (contract[key as EndpointKey] ?? {});
    expect(response.status === 401).toBe(!open || signed);
  });
});

let shared: TestApp | null = null;
async function open(): Promise<TestApp> {
  shared = openApp();
  await setUpPlant(shared);
  // The administrator last: from then on nobody else manages people.
  for (const id of Role.options)
    await shared.call('PUT /api/people/{id}', {
      params: { id },
      body: { record: { id, name: `Person ${id}`, role: id } },
    });
  return shared;
}
afterAll(() => shared?.close());

describe('the table as it is told', () => {
  it.each(Role.options)('says to %s what they may', async (role) => {
    const app = shared ?? (await open());
    const told = await app.call('GET /api/permissions', {}, role);
    expect(told.map(({ action }) => action)).toEqual(Object.keys(expected));
    for (const { action, may, roles } of told) {
      expect(may).toBe(roleMay(role, action as Action));
      expect(roles.includes(role)).toBe(may);
    }
    const endpoints = told.flatMap(({ action, endpoints: keys }) => keys.map((key) => [key, action]));
    expect(Object.fromEntries(endpoints)).toEqual(
      Object.fromEntries(Object.entries(contract).map(([key, { action }]) => [key, action])),
    );
  });

  it('knows that anybody may add people until there is an administrator', async () => {
    const app = openApp();
    await app.call(
      'PUT /api/people/{id}',
      { params: { id: 'ann' }, body: { record: { id: 'ann', name: 'Ann', role: 'tech' } } },
      null,
    );
    const people = async () =>
      (await app.call('GET /api/permissions', {}, 'ann')).find(({ action }) => action === 'manage people');
    expect(await people()).toMatchObject({ may: true, roles: ['administrator'] });
    await app.close();
  });
});

describe('people of a plant without an administrator', () => {
  it('may be added by anybody there, until there is one', async () => {
    const app = openApp();
    const person = (id: string, role: Role) => ({
      params: { id },
      body: { record: { id, name: id, role } },
    });
    await app.call('PUT /api/people/{id}', person('tech', 'tech'), null);
    await app.refused('PUT /api/people/{id}', person('other', 'tech'), null).then(({ status }) => {
      expect(status).toBe(401);
    });
    await app.call('PUT /api/people/{id}', person('boss', 'administrator'), 'tech');
    const refused = await app.refused('PUT /api/people/{id}', person('other', 'tech'), 'tech');
    expect(refused.status).toBe(403);
    expect(refused.detail).toBe(
      'Only an administrator may manage people; tech acts as a quality technician.',
    );
    await app.call('PUT /api/people/{id}', person('other', 'tech'), 'boss');
    await app.close();
  });
});

describe('with sign-in', () => {
  /** These end the session that the others need; tests/api/sign-in looks at them. */
  const others = doors.filter(([key]) => !key.startsWith('DELETE /api/session'));
  let app: TestApp;
  const browsers = new Map<Role | 'nobody' | 'station', TestBrowser>();
  beforeAll(async () => {
    const signedIn = await openSignedInApp();
    app = signedIn.app;
    await addStation(signedIn.administrator);
    browsers.set('administrator', signedIn.administrator);
    browsers.set('nobody', signedIn.newBrowser());
    browsers.set('station', await registerStation(signedIn.administrator));
    for (const role of Role.options.filter((name) => name !== 'administrator'))
      browsers.set(role, await addPerson(signedIn.administrator, role, role));
  });
  afterAll(() => app.close());

  const statusOf = async (who: Role | 'nobody' | 'station', key: string): Promise<number> => {
    const browser = browsers.get(who)!;
    const empty = emptyRequest(key, '');
    const headers = new Headers(browser.request('GET /api/plant').headers);
    headers.set('Origin', browser.origin);
    const response = await app.fetch(new Request(empty, { headers }));
    await response.body?.cancel();
    return response.status;
  };

  it.each(others)('%s', async (key, action) => {
    for (const role of Role.options) {
      const status = await statusOf(role, key);
      expect(status === 403, role).toBe(!roleMay(role, action));
      expect(status, role).not.toBe(401);
    }
    // Boards are read at a registered station without anybody signed in, and nothing else is done there.
    expect((await statusOf('station', key)) === 401).toBe(action !== 'read' && action !== 'come in');
    expect((await statusOf('nobody', key)) === 401).toBe(action !== 'come in');
  });
});
