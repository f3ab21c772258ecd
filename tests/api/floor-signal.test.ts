/** A tile of the floor is steady only where the newest sample is quiet. */
import { randomUUID } from 'node:crypto';
import { afterEach, beforeEach, expect, it } from 'vitest';
import type { FloorStream, Reading } from '../../api/schemas.ts';
import { openApp, secondSignature, setUpPlant, start, type TestApp } from './support.ts';

let app: TestApp;
beforeEach(async () => {
  app = openApp();
  await setUpPlant(app);
  await app.call('POST /api/limits', {
    body: {
      streamId: 'C5-R1',
      modelId: 'Q10',
      status: 'approved',
      source: { kind: 'given', mean: 127, withinSubgroupStandardDeviation: 0.2 },
      effectiveFrom: new Date(start - 86_400_000).toISOString(),
      reason: 'Machine study',
      secondSignature,
    },
  });
});
afterEach(() => app.close());

const tile = async (): Promise<FloorStream> =>
  (await app.call('GET /api/floor')).streams.find(({ streamId }) => streamId === 'C5-R1')!;
const enter = (values: number[], takenAt = start) =>
  app.call('POST /api/samples', {
    body: {
      id: randomUUID(),
      streamId: 'C5-R1',
      modelId: 'Q10',
      takenAt: new Date(takenAt).toISOString(),
      unit: 'mm',
      readings: values.map((value): Reading => ({ value })),
    },
  });
const add = (alarmId: number, entry: object) =>
  app.call('POST /api/alarms/{id}/entries', {
    params: { id: alarmId },
    body: { id: randomUUID(), ...entry } as never,
  });
const quiet = [126.8, 126.9, 127, 127.1, 127.2];
const high = [127.4, 127.5, 127.6, 127.5, 127.5];

it('closing an alarm whose condition still stands leaves a signal, and the next quiet sample ends it', async () => {
  const { alarmId } = await enter(high);
  expect(await tile()).toMatchObject({ state: 'alarm', alarmId });
  await add(alarmId!, { kind: 'acknowledged' });
  await add(alarmId!, { kind: 'cause', text: 'A loose stop' });
  const { alarm } = await add(alarmId!, { kind: 'closed', text: 'Known, goes on' });
  expect(alarm.closedWhileActive).toBe(true);
  const closed = await tile();
  expect(closed).toMatchObject({ state: 'signal', alarmId: null });
  expect(closed.lastSentence).toMatch(
    /^The alarm was closed, but the last sample still stands on a signal: the sample average/,
  );
  app.clock.time = start + 60_000;
  await enter(quiet, start + 60_000);
  expect((await tile()).state).toBe('steady');
});

it('a signal that calls nobody is shown', async () => {
  const { plans } = await app.call('GET /api/plant');
  const plan = plans.find(({ streamId }) => streamId === 'C5-R1')!;
  await app.call('PUT /api/plans/{id}', {
    params: { id: 'C5-R1' },
    body: {
      record: { ...plan, raisesAlarms: false, remark: 'Under trial.' },
      reason: 'Trial',
      secondSignature,
    },
  });
  expect((await enter(high)).alarmId).toBeNull();
  const signal = await tile();
  expect(signal).toMatchObject({ state: 'signal', alarmId: null });
  expect(signal.lastSentence).toMatch(/^The last sample stands on a signal that raised no alarm: the sample/);
});

it('a value outside the drawing is shown after its alarm was closed', async () => {
  const { alarmId } = await enter([126.99, 127, 128.05, 126.5, 126.6]);
  expect(await tile()).toMatchObject({ state: 'alarm', alarmId });
  await add(alarmId!, { kind: 'acknowledged' });
  await add(alarmId!, { kind: 'cause', text: 'A loose stop' });
  await add(alarmId!, { kind: 'closed', text: 'Sorted' });
  expect(await tile()).toMatchObject({
    state: 'signal',
    lastSentence: '1 of 5 pieces is outside the drawing: 128.05 mm, at most 128.00.',
  });
});
