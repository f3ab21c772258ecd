/** A plant with sign-in, and browsers that keep their cookies. */
import type { EndpointKey } from '../../../api/contract.ts';
import type { Person, Role } from '../../../api/schemas.ts';
import { type Loose, requestTo } from '../assemble-app.ts';
import { openApp, problemOf, type TestApp } from '../support.ts';

export const ADDRESS = 'http://localhost:8080';

/** A browser at the plant's address: keeps cookies, and says as browsers do which page a request comes from. */
export class TestBrowser {
  readonly cookies = new Map<string, string>();
  /** The Set-Cookie lines of the last answer. */
  set: string[] = [];

  constructor(
    readonly app: TestApp,
    readonly origin = ADDRESS,
  ) {}

  request(key: EndpointKey, sent: Loose = {}, changes: Record<string, string | null> = {}): Request {
    const request = requestTo(key, sent, null);
    const headers = new Headers(request.headers);
    headers.set('Host', new URL(this.origin).host);
    if (request.method !== 'GET') headers.set('Origin', this.origin);
    if (this.cookies.size > 0)
      headers.set('Cookie', [...this.cookies].map(([name, value]) => `${name}=${value}`).join('; '));
    for (const [name, value] of Object.entries(changes)) {
      if (value === null) headers.delete(name);
      else headers.set(name, value);
    }
    return new Request(request, { headers });
  }

  async send(request: Request): Promise<Response> {
    const response = await this.app.fetch(request);
    this.set = response.headers.getSetCookie();
    for (const line of this.set) {
      const [, name = '', value = ''] = /^([^=]+)=([^;]*)/.exec(line) ?? [];
      if (value === '') this.cookies.delete(name);
      else this.cookies.set(name, value);
    }
    return response;
  }

  // biome-ignore lint/suspicious/noExplicitAny: tests look into whatever came
  async call(key: EndpointKey, sent: Loose = {}): Promise<any> {
    const response = await this.send(this.request(key, sent));
    const text = await response.text();
    if (response.status !== 200) throw new Error(`${key}: ${response.status} ${text}`);
    return JSON.parse(text);
  }

  async refused(key: EndpointKey, sent: Loose = {}, changes: Record<string, string | null> = {}) {
    return problemOf(await this.send(this.request(key, sent, changes)));
  }

  signIn(personId: string, secret: { password: string } | { pin: string }) {
    return this.call('POST /api/session', { body: { personId, ...secret } });
  }
}

export const PASSWORD = 'seven quiet rollers';
/** Eight digits, so that no id or time in a log holds them by chance. */
export const PIN = '28471936';

/** An app in which the first administrator has signed in and everybody of each role can. */
export async function openSignedInApp() {
  const app = openApp({ signIn: true, logLevel: 'debug' });
  const administrator = new TestBrowser(app);
  const token = (await app.signIn!.firstStart())!;
  await administrator.call('POST /api/one-time-links/first-administrator', {
    body: { token, person: { id: 'boss', name: 'Boss' }, password: PASSWORD },
  });
  return { app, administrator, newBrowser: (origin = ADDRESS) => new TestBrowser(app, origin) };
}

/** Adds a person, who chooses both secrets by a one-time link; gives the browser in which they are signed in. */
export async function addPerson(administrator: TestBrowser, id: string, role: Role): Promise<TestBrowser> {
  const record: Person = { id, name: `Person ${id}`, role };
  await administrator.call('PUT /api/people/{id}', { params: { id }, body: { record } });
  const { secret } = await administrator.call('POST /api/accounts/{id}/link', { params: { id } });
  const browser = new TestBrowser(administrator.app);
  await browser.call('POST /api/one-time-links/secrets', {
    body: { token: secret, password: PASSWORD, pin: PIN },
  });
  return browser;
}

/** Registers a browser as the station of the test plant. */
export async function registerStation(administrator: TestBrowser, id = 'R1-end'): Promise<TestBrowser> {
  const { secret } = await administrator.call('POST /api/stations/{id}/registration-code', {
    params: { id },
  });
  const station = new TestBrowser(administrator.app);
  await station.call('POST /api/registered-stations', { body: { code: secret } });
  return station;
}

/** A line and a station, so that there is something to be registered as. */
export async function addStation(administrator: TestBrowser): Promise<void> {
  const runningHours = { start: '00:00', end: '24:00', weekdays: [1, 2, 3, 4, 5, 6, 7] };
  await administrator.call('PUT /api/lines/{id}', {
    params: { id: 'R1' },
    body: { record: { id: 'R1', name: 'Rim line 1', partsPerHour: 310, runningHours } },
  });
  await administrator.call('PUT /api/stations/{id}', {
    params: { id: 'R1-end' },
    body: { record: { id: 'R1-end', lineId: 'R1', name: 'End of rim line 1' } },
  });
}
