/**
 * The server's clock jumps. What holds: the order of arrival is kept by number and not by time; a sample is taken
 * while its time is no more than five minutes ahead of the server's clock, and beyond that the refusal names both
 * times and the same sample is taken once the clock is right; an alarm is raised once; nothing that was stored
 * changes.
 */
import { afterEach, beforeEach, expect, it } from 'vitest';
import type { SampleAnswer } from '../../api/schemas.ts';
import {
  event,
  freezeGiven,
  minutes,
  morning,
  openTestPlant,
  refusal,
  type TestPlant,
  tech,
  widths,
} from '../api/test-plant.ts';

let plant: TestPlant;
beforeEach(async () => {
  plant = await openTestPlant();
  await freezeGiven(plant);
});
afterEach(() => plant.close());

const ever = { from: 0, to: Number.MAX_SAFE_INTEGER };
const HIGH = 127.6;
const enter = async (mean: number, takenAt: number): Promise<SampleAnswer> =>
  (await plant.monitoring.accept(widths(mean, takenAt), tech)).answer;
const alarms = () => plant.store.alarms({ limit: 100 });
const rows = () => plant.store.samples('width', 'Q10', ever, 1000);

it('back by an hour: stations with the right time are refused in words, and taken when the clock is right', async () => {
  const first = await enter(HIGH, morning);
  plant.clock.time = morning - minutes(60);
  const sample = widths(HIGH, morning + minutes(1));
  const words = await refusal(plant.monitoring.accept(sample, tech), 422, 'takenAt');
  expect(words).toContain("server's clock shows");
  expect(words).toContain('clock');
  // Five minutes ahead are within what clocks may differ by.
  await enter(127, plant.clock.time + minutes(5));

  plant.clock.time = morning + minutes(2);
  const { answer } = await plant.monitoring.accept(sample, tech);
  expect(answer.alarmId).toBe(first.alarmId);
  expect(await alarms()).toHaveLength(1);
  const numbers = (await rows()).toSorted((a, b) => a.no - b.no);
  expect(numbers.map(({ takenAt }) => takenAt)).toEqual([
    morning,
    morning - minutes(55),
    morning + minutes(1),
  ]);
});

it('back by an hour in the middle of an alarm: it stays one alarm, and its parts stay suspect', async () => {
  const { alarmId } = await enter(HIGH, morning);
  plant.clock.time = morning - minutes(60);
  for (let sample = 0; sample < 5; sample++) await enter(HIGH, plant.clock.time - minutes(sample));
  expect((await alarms()).map(({ id }) => id)).toEqual([alarmId]);
  const { alarm } = await plant.monitoring.alarm(alarmId!);
  expect(alarm.containment.suspectParts).toBeGreaterThanOrEqual(0);
  expect(alarm.containment.runningHours).toBeGreaterThanOrEqual(0);
  const entry = { id: crypto.randomUUID(), kind: 'acknowledged' } as const;
  await plant.monitoring.addAlarmEntry(alarmId!, entry, { ...tech, personId: 'supervisor' });
  expect((await alarms())[0]?.state).toBe('acknowledged');
});

it('forward by a day and back: what was taken stays, nothing is raised twice', async () => {
  const before = await enter(HIGH, morning);
  plant.clock.time = morning + minutes(24 * 60 + 30);
  // The stations still have the right time: their samples are a day old to this clock.
  const during = await enter(HIGH, morning + minutes(10));
  expect(during.signals.length).toBeGreaterThan(0);
  // Whoever enters it is told to call, whatever the clock says of its age.
  expect(during.verdict.level).toBe('call');
  await plant.monitoring.recordEvent(
    event({ kind: 'note', at: new Date(morning + minutes(11)).toISOString() }),
    tech,
  );
  plant.clock.time = morning + minutes(20);
  const after = await enter(HIGH, morning + minutes(20));
  expect(after.alarmId).toBe(before.alarmId);
  expect(await alarms()).toHaveLength(1);
  expect(await rows()).toHaveLength(3);
  expect(await plant.store.acceptedAnswer(during.sampleId)).toEqual(during);
});

it('the same sample sent on both sides of a jump is one sample with one answer', async () => {
  const sample = widths(HIGH, morning);
  const { answer } = await plant.monitoring.accept(sample, tech);
  for (const jump of [-60, 24 * 60, -30 * 24 * 60]) {
    plant.clock.time = morning + minutes(jump);
    const again = await plant.monitoring.accept(sample, tech);
    expect(again).toMatchObject({ answer, repeated: true });
  }
  expect(await rows()).toHaveLength(1);
});
