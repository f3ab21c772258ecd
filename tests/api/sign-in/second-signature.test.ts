/** What two people sign, over HTTP: with sign-in, where the second person proves it, and without. */
import { randomUUID } from 'node:crypto';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { Role } from '../../../api/schemas.ts';
import { type SignedByTwo, twoMaySign } from '../../../api/second-signatures.ts';
import { openApp, secondSignature, setLimits, setUpPlant, type TestApp, widths } from '../support.ts';
import { addPerson, openSignedInApp, PASSWORD, PIN, registerStation, type TestBrowser } from './support.ts';

/** Written out once more, by hand; each pair in either order. */
const pairs: Record<SignedByTwo, readonly string[]> = {
  'new control limits': ['engineer engineer', 'engineer supervisor', 'engineer quality-manager'],
  'changed specification or sampling plan': ['engineer quality-manager'],
  'release of parts set apart': ['engineer quality-manager'],
  'approval of a first piece': ['tech engineer'],
  'shift handover': ['supervisor supervisor'],
};

it.each(Object.entries(pairs))('%s: signed by these roles and no others', (what, expected) => {
  const allowed = Role.options.flatMap((one) =>
    Role.options
      .filter((other) => twoMaySign(what as SignedByTwo, one, other))
      .map((other) => `${one} ${other}`),
  );
  const bothWays = expected.flatMap((pair) => [pair, pair.split(' ').reverse().join(' ')]);
  expect(new Set(allowed)).toEqual(new Set(bothWays));
});

const limits = (reason = 'Machine study') => ({
  streamId: 'C5-R1',
  modelId: 'Q10',
  status: 'approved' as const,
  source: { kind: 'given' as const, mean: 127, withinSubgroupStandardDeviation: 0.18 },
  effectiveFrom: '2025-09-02T00:00:00+02:00',
  reason,
});

describe('without sign-in', () => {
  let app: TestApp;
  beforeEach(async () => {
    app = openApp();
    await setUpPlant(app);
  });
  afterEach(() => app.close());

  it('new control limits carry both names', async () => {
    const lone = await app.refused('POST /api/limits', { body: limits() });
    expect(lone).toMatchObject({ status: 422, errors: [{ field: 'secondSignature' }] });
    expect(lone.detail).toBe(
      'New control limits need two signatures: a process engineer and, as another person, a process engineer or ' +
        'a shift supervisor or a quality manager. Have the second person sign as well.',
    );
    const twice = await app.refused('POST /api/limits', {
      body: { ...limits(), secondSignature: { personId: 'kim' } },
    });
    expect(twice).toMatchObject({ status: 403, errors: [{ field: 'secondSignature.personId' }] });
    const nobody = await app.refused('POST /api/limits', {
      body: { ...limits(), secondSignature: { personId: 'nobody' } },
    });
    expect(nobody).toMatchObject({ status: 422, errors: [{ field: 'secondSignature.personId' }] });
    const frozen = await app.call('POST /api/limits', { body: { ...limits(), secondSignature } });
    expect(frozen).toMatchObject({ personId: 'kim', secondPersonId: 'quinn' });
    const query = { streamId: 'C5-R1', modelId: 'Q10' };
    expect(await app.call('GET /api/limits', { query })).toEqual([frozen]);
  });

  it('a first sampling plan carries one name, a changed one two; so do specifications', async () => {
    const { plans, specifications } = await app.call('GET /api/plant');
    const plan = { ...plans[0]!, intervalMinutes: 30 };
    const body = { record: plan, reason: 'Twice as often' };
    const params = { id: plan.streamId };
    expect((await app.refused('PUT /api/plans/{id}', { params, body })).errors[0]?.field).toBe(
      'secondSignature',
    );
    await app.call('PUT /api/plans/{id}', { params, body: { ...body, secondSignature } });
    const changes = await app.store.plantChanges('plans', plan.streamId);
    expect(changes.map(({ secondPersonId }) => secondPersonId)).toEqual([null, 'quinn']);
    const { characteristicId, modelId } = specifications[0]!;
    const specification = {
      params: { characteristicId, modelId },
      body: { record: { ...specifications[0]!, upperSpecificationLimit: 130 }, reason: 'Drawing 7' },
    };
    const key = 'PUT /api/specifications/{characteristicId}/{modelId}' as const;
    expect((await app.refused(key, specification)).status).toBe(422);
    // Quality may begin, and the engineer sign as well.
    const second = { ...specification.body, secondSignature: { personId: 'kim' } };
    await app.call(key, { ...specification, body: second }, 'quinn');
  });

  it('closing an alarm takes an engineer or quality; both, where parts were set apart', async () => {
    await setLimits(app);
    await app.call('PUT /api/people/{id}', {
      params: { id: 'sam' },
      body: { record: { id: 'sam', name: 'Sam', role: 'supervisor' } },
    });
    const alarmWith = async (mean: number, ...entries: object[]) => {
      app.clock.time += 60_000;
      const { alarmId } = await app.call('POST /api/samples', {
        body: widths(mean, { takenAt: app.clock.time }),
      });
      const params = { id: alarmId! };
      for (const entry of [{ kind: 'acknowledged' }, ...entries, { kind: 'cause', text: 'Stop came loose' }])
        await app.call('POST /api/alarms/{id}/entries', {
          params,
          body: { id: randomUUID(), ...entry } as never,
        });
      return params;
    };
    const closing = (more: object = {}) => ({
      id: randomUUID(),
      kind: 'closed' as const,
      text: 'Checked',
      ...more,
    });
    const first = await alarmWith(129);
    const key = 'POST /api/alarms/{id}/entries' as const;
    const refused = await app.refused(key, { params: first, body: closing() }, 'sam');
    expect(refused.detail).toBe(
      'Only a process engineer or a quality manager may close alarms; Sam acts as a shift supervisor.',
    );
    await app.call(key, { params: first, body: closing() });
    for (const entry of [
      { kind: 'quarantined', countedParts: 40, text: 'Trolley 3' },
      { kind: 'decision', decision: 'stop-and-quarantine', text: 'Fenced off' },
    ]) {
      const params = await alarmWith(129, entry);
      expect((await app.refused(key, { params, body: closing() })).errors[0]?.field).toBe('secondSignature');
      const bySam = closing({ secondSignature: { personId: 'sam' } });
      expect((await app.refused(key, { params, body: bySam })).status).toBe(403);
      const { alarm, entries } = await app.call(key, { params, body: closing({ secondSignature }) });
      expect(alarm.state).toBe('closed');
      expect(entries.at(-1)).toMatchObject({ kind: 'closed', personId: 'kim', secondPersonId: 'quinn' });
    }
  });
});

describe('with sign-in', () => {
  let app: TestApp;
  let engineer: TestBrowser;
  let administrator: TestBrowser;
  beforeEach(async () => {
    ({ app, administrator } = await openSignedInApp());
    engineer = await addPerson(administrator, 'kim', 'engineer');
    await addPerson(administrator, 'quinn', 'quality-manager');
    await setUpPlantBy(engineer);
  });
  afterEach(() => app.close());

  /** The plant of the other tests, its people apart. */
  async function setUpPlantBy(browser: TestBrowser): Promise<void> {
    await setUpPlant({
      call: async (key, sent) => (key.includes('/people/') ? null : browser.call(key, sent as object)),
    });
  }

  it('the second person proves who they are in the same request; nothing of it is kept', async () => {
    const body = (secondSignature: object) => ({ body: { ...limits(), secondSignature } });
    const silent = await engineer.refused('POST /api/limits', body({ personId: 'quinn' }));
    expect(silent).toMatchObject({ status: 422, errors: [{ field: 'secondSignature.secret' }] });
    const wrong = await engineer.refused(
      'POST /api/limits',
      body({ personId: 'quinn', secret: 'not it, really' }),
    );
    expect(wrong).toMatchObject({ status: 403, errors: [{ field: 'secondSignature.secret' }] });
    // A PIN counts only at a station.
    const afar = await engineer.refused('POST /api/limits', body({ personId: 'quinn', secret: PIN }));
    expect(afar.status).toBe(403);
    const twice = await engineer.refused('POST /api/limits', body({ personId: 'kim', secret: PASSWORD }));
    expect(twice).toMatchObject({ status: 403, errors: [{ field: 'secondSignature.personId' }] });
    const frozen = await engineer.call('POST /api/limits', body({ personId: 'quinn', secret: PASSWORD }));
    expect(frozen).toMatchObject({ personId: 'kim', secondPersonId: 'quinn' });
    const rows = await app.store.sql.all('select * from limits_versions');
    expect(JSON.stringify([rows, app.logged])).not.toContain(PASSWORD);
  });

  it('signs with a PIN at a registered station', async () => {
    const station = await registerStation(administrator);
    await station.signIn('kim', { pin: PIN });
    const secondSignature = { personId: 'quinn', secret: PIN };
    const frozen = await station.call('POST /api/limits', { body: { ...limits(), secondSignature } });
    expect(frozen.secondPersonId).toBe('quinn');
    // The engineer is still the one who is signed in.
    expect((await station.call('GET /api/session')).person.id).toBe('kim');
  });

  it('is slowed like any other guessing', async () => {
    for (let tries = 0; tries < 3; tries++) {
      const secondSignature = { personId: 'quinn', secret: `guess number ${tries}` };
      const refused = await engineer.refused('POST /api/limits', { body: { ...limits(), secondSignature } });
      expect(refused.status).toBe(403);
    }
    const secondSignature = { personId: 'quinn', secret: PASSWORD };
    const refused = await engineer.refused('POST /api/limits', { body: { ...limits(), secondSignature } });
    expect(refused.status).toBe(429);
  });
});
