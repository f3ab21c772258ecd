/** The first piece after a change of the set-up, from the event to the approval, on both engines. */
import { randomUUID } from 'node:crypto';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { verifyChain } from '../../api/audit/verify-chain.ts';
import type { By } from '../../api/monitoring/by.ts';
import { newestRestarts, restartDetail, waitingRestarts } from '../../api/restarts/restart-payload.ts';
import type { EventSubmission, RestartDecision, SampleSubmission } from '../../api/schemas.ts';
import {
  changePlan,
  engineer,
  event,
  freezeGiven,
  minutes,
  morning,
  openTestPlant,
  readingsAbout,
  refusal,
  type TestPlant,
  take,
  tech,
} from '../api/test-plant.ts';
import { databasesOf } from '../store/engines.ts';

const iso = (time: number): string => new Date(time).toISOString();
const lone: By = { personId: 'engineer', door: 'page', how: 'named' };

describe.each(['sqlite', 'postgres'] as const)('a change of the set-up, on %s', async (engine) => {
  const newDatabase = await databasesOf(engine);
  let plant: TestPlant;
  beforeEach(async () => {
    plant = await openTestPlant(newDatabase());
    await freezeGiven(plant);
    // Q10 runs, and its first piece is history.
    await change({ kind: 'changeover', modelId: 'Q10', at: iso(morning - minutes(60)) });
    const [first] = await waitingRestarts(plant.store, morning);
    await measure(morning - minutes(55));
    plant.clock.time = morning - minutes(50);
    await stated(first!.id);
    await decided(first!.id);
    plant.clock.time = morning;
    plant.changes.length = 0;
  });
  afterEach(() => plant.close());

  const change = (changes: Partial<EventSubmission>) => {
    const submission = event({ kind: 'tool change', stationId: 'R1-RIM', ...changes });
    return plant.monitoring.recordEvent(submission, tech);
  };
  const stated = (id: string, by: By = tech) =>
    plant.monitoring.stateFirstPiece(id, { id: randomUUID() }, by);
  const decided = (id: string, text?: string, by = lone) => {
    const decision: RestartDecision =
      text === undefined
        ? { id: randomUUID(), decision: 'approved' }
        : { id: randomUUID(), decision: 'refused', text };
    return plant.monitoring.decideRestart(id, decision, by);
  };
  const other = (streamId: string, takenAt: number, changes: Partial<SampleSubmission> = {}) => {
    plant.clock.time = Math.max(plant.clock.time, takenAt);
    const values =
      streamId === 'leaks'
        ? { unit: '1', count: { inspected: 300, nonconforming: 0 } }
        : { unit: 'kN', readings: [{ value: 5 }] };
    const submission = {
      id: randomUUID(),
      streamId,
      modelId: 'Q10',
      takenAt: iso(takenAt),
      ...values,
      ...changes,
    };
    return plant.monitoring.accept(submission as SampleSubmission, tech);
  };
  /** Everything that the plan of the station asks for. */
  const measure = async (takenAt: number, mean = 127) => {
    const answer = await take(plant, mean, takenAt);
    await other('force', takenAt);
    await other('leaks', takenAt);
    return answer;
  };
  const statesOf = async (id: string) => {
    const { results } = await restartDetail(plant.store, id, plant.clock.now());
    return Object.fromEntries(results.map(({ streamId, state }) => [streamId, state]));
  };

  it('is not approved from its time on, with the hours and the parts counted, until the engineer approves', async () => {
    const { id } = await change({ kind: 'regrind', at: iso(morning - minutes(25)) });
    expect(plant.changes).toEqual([
      { kind: 'event', lineId: 'R1' },
      { kind: 'restart', lineId: 'R1', restartId: id },
    ]);
    const [restart] = await waitingRestarts(plant.store, morning + minutes(35));
    expect(restart).toMatchObject({
      id,
      kind: 'regrind',
      stationId: 'R1-RIM',
      modelId: 'Q10',
      state: 'waiting',
      plan: [
        { streamId: 'force', pieces: 1, signalsCall: false },
        { streamId: 'leaks', pieces: 300, signalsCall: true },
        { streamId: 'width', pieces: 5, signalsCall: true },
      ],
      // One hour at 300 an hour.
      unapproved: { since: iso(morning - minutes(25)), runningHours: 1, parts: 300 },
    });

    // The line stands for 20 minutes of it.
    plant.clock.time = morning + minutes(35);
    await change({ kind: 'stoppage', stationId: null, until: iso(morning + minutes(20)) });
    const [standing] = await waitingRestarts(plant.store, plant.clock.now(), 'R1');
    expect(standing!.unapproved.parts).toBe(200);

    await measure(morning + minutes(40));
    expect(await statesOf(id)).toEqual({ force: 'good', leaks: 'good', width: 'good' });
    plant.clock.time = morning + minutes(45);
    expect((await stated(id)).restart).toMatchObject({ state: 'stated', stateBy: 'tech' });
    plant.clock.time = morning + minutes(55);
    const approved = await decided(id);
    expect(approved.restart).toMatchObject({
      state: 'approved',
      stateBy: 'engineer',
      stateAt: iso(plant.clock.time),
    });
    plant.clock.time = morning + minutes(500);
    const detail = await restartDetail(plant.store, id, plant.clock.now());
    // The count stands still.
    expect(detail.restart.unapproved.parts).toBe(300);
    expect(detail.next).toContain('It says nothing about the parts made before');
    expect(await waitingRestarts(plant.store, plant.clock.now())).toEqual([]);
    expect((await newestRestarts(plant.store, 'R1', 1, plant.clock.now()))[0]!.id).toBe(id);
    expect(detail.entries.map(({ kind, personId }) => [kind, personId])).toEqual([
      ['stated', 'tech'],
      ['approved', 'engineer'],
    ]);
    const sample = await plant.store.latestSample('width');
    expect(detail.entries[1]!.results).toContainEqual(
      expect.objectContaining({ streamId: 'width', sampleId: sample!.id, revision: 1, state: 'good' }),
    );
    expect((await verifyChain(plant.store.sql)).findings).toEqual([]);
  });

  it('keeps the plan as it was when the change began', async () => {
    const { id } = await change({});
    await changePlan(plant, { sampleSize: 2 });
    await take(plant, 127, morning + minutes(5), { readings: readingsAbout(127).slice(1, 3) });
    await other('force', morning + minutes(5));
    await other('leaks', morning + minutes(5));
    expect(await statesOf(id)).toMatchObject({ width: 'too-few' });
    const detail = await refusal(stated(id), 409, 'id');
    expect(detail).toContain('2 pieces of 5 measured; take a whole sample.');
  });

  it('takes any count since the change, with the number inspected beside the one of the plan', async () => {
    await measure(morning - minutes(10));
    const { id } = await change({});
    await take(plant, 127, morning + minutes(5));
    await other('force', morning + minutes(5));
    const leaks = async () =>
      (await restartDetail(plant.store, id, plant.clock.now())).results.find(
        ({ streamId }) => streamId === 'leaks',
      )!;
    // A count from before the change is none.
    expect(await leaks()).toMatchObject({ state: 'not-measured' });
    expect((await leaks()).sentence).toBe(
      "Not counted yet: inspect what there is and count; the plan's sample is 300.",
    );
    await refusal(stated(id), 409, 'id');
    await other('leaks', morning + minutes(6), { count: { inspected: 100, nonconforming: 0 } });
    expect(await leaks()).toMatchObject({ state: 'good', pieces: 300, count: { inspected: 100 } });
    expect((await leaks()).sentence).toContain(
      "0 of 100 nonconforming; the plan's sample is 300 (fewer were inspected: judge whether they are enough)",
    );
    await stated(id);
    const { entries } = await decided(id);
    // The record keeps what the approval stands on.
    expect(entries.at(-1)!.results!.find(({ streamId }) => streamId === 'leaks')).toMatchObject({
      count: { inspected: 100, nonconforming: 0 },
      pieces: 300,
    });
  });

  it('asks for the streams of the new model at a changeover, and of the whole line', async () => {
    const { id } = await change({ kind: 'changeover', modelId: 'Q14' });
    const { restart } = await restartDetail(plant.store, id, morning);
    expect(restart).toMatchObject({ modelId: 'Q14', stationId: null });
    // The drawing of the width does not know Q14: nobody could enter such a sample.
    expect(restart.plan.map(({ streamId }) => streamId)).toEqual(['force', 'leaks']);
    // Samples of the old model do not count.
    await measure(morning + minutes(5));
    expect(await statesOf(id)).toEqual({ force: 'not-measured', leaks: 'not-measured' });
  });

  it('asks for nothing after a coil, a note or an adjustment, unless the plan says so', async () => {
    await change({ kind: 'coil', lot: 'L2' });
    await change({ kind: 'note' });
    await change({ kind: 'adjustment' });
    expect(await waitingRestarts(plant.store, morning)).toEqual([]);
    await changePlan(plant, { firstPieceAfterAdjustment: true });
    await change({ kind: 'adjustment', streamId: 'force' });
    const [restart] = await waitingRestarts(plant.store, morning);
    expect(restart!.plan).toEqual([{ streamId: 'width', pieces: 5, signalsCall: true }]);
  });

  it('begins once, however often the event is sent', async () => {
    const submission = event({ kind: 'tool change', stationId: 'R1-RIM' });
    await plant.monitoring.recordEvent(submission, tech);
    await plant.monitoring.recordEvent(submission, tech);
    expect(await waitingRestarts(plant.store, morning)).toHaveLength(1);
  });

  it('cannot be stated while a planned stream is not measured since the change, or is in doubt', async () => {
    await measure(morning - minutes(10));
    const { id } = await change({});
    const sentence = await refusal(stated(id), 409, 'id');
    expect(sentence).toBe(
      'The first piece is not done. Stream of force: Not measured yet: take 1 piece. Look also at: Stream of leaks; Stream of width. Measure it at the station first; samples taken before the change, or before it was last refused or adjusted, do not count.',
    );
    await measure(morning + minutes(5));
    await take(plant, 127, morning + minutes(6), {
      readings: [{ value: 12.7 }, ...readingsAbout(127).slice(1)],
    });
    expect(await statesOf(id)).toMatchObject({ width: 'in-doubt' });
    expect(await refusal(stated(id), 409, 'id')).toContain('A value is in doubt');
  });

  it('is not approved outside the drawing or out of control, whoever asks, and says what to do next', async () => {
    const { id } = await change({});
    await refusal(decided(id), 409, 'decision');
    await measure(morning + minutes(5), 128.05);
    plant.clock.time = morning + minutes(10);
    await stated(id);
    const outside = await refusal(decided(id), 409, 'decision');
    expect(outside).toContain(
      'Stream of width: 2 of 5 pieces are outside the drawing: the farthest 128.15 mm, at most 128.00.',
    );
    expect(outside).toContain('Refuse it with this reason, keep the parts apart');

    plant.clock.time = morning + minutes(15);
    const refused = await decided(id, 'Set 1 mm too wide');
    expect(refused.restart.state).toBe('refused');
    // What was measured before the refusal says nothing of what is put right after it.
    expect(await statesOf(id)).toEqual({
      force: 'not-measured',
      leaks: 'not-measured',
      width: 'not-measured',
    });

    await measure(morning + minutes(20), 127.6);
    plant.clock.time = morning + minutes(25);
    const { results } = await stated(id);
    expect(results.find(({ streamId }) => streamId === 'width')).toMatchObject({
      state: 'signal',
      hasControlLimits: true,
    });
    expect(await refusal(decided(id), 409, 'decision')).toContain('but there is a signal');

    // The setter puts it right: only what is measured after that counts.
    await change({ kind: 'adjustment', at: iso(morning + minutes(26)) });
    expect((await statesOf(id)).width).toBe('not-measured');
    await refusal(decided(id), 409, 'decision');
    await measure(morning + minutes(30), 127);
    plant.clock.time = morning + minutes(35);
    expect((await decided(id)).restart.state).toBe('approved');
  });

  it('shows what went wrong before the good samples, also before a refusal, and leaves the decision to the engineer', async () => {
    const { id } = await change({});
    const wrong = async () => (await restartDetail(plant.store, id, plant.clock.now())).goneWrong;
    expect(await wrong()).toEqual([]);
    await measure(morning + minutes(5), 128.05);
    // What the newest sample shows is not said twice.
    expect(await wrong()).toEqual([
      { streamId: 'width', alarmId: expect.any(Number), sentence: expect.stringContaining(' is open') },
    ]);
    await stated(id);
    await decided(id, 'Set too wide');
    await measure(morning + minutes(6), 127);
    await stated(id);
    const [alarm] = await plant.monitoring.alarms({ open: true, streamId: 'width', limit: 1 });
    expect(await wrong()).toEqual([
      {
        streamId: 'width',
        alarmId: alarm!.id,
        sentence: `Alarm ${alarm!.id} is open, and about ${alarm!.containment.suspectParts} parts are suspect by it.`,
      },
      {
        streamId: 'width',
        alarmId: null,
        sentence:
          'Since the change, at 08:05: 2 of 5 pieces are outside the drawing: the farthest 128.15 mm, at most 128.00.',
      },
    ]);
    expect(alarm!.containment.suspectParts).toBeGreaterThan(0);
    expect((await decided(id)).restart.state).toBe('approved');
    // It stays to be seen beside the approval.
    expect(await wrong()).toHaveLength(2);
  });

  it('shows a signal that by the plan calls nobody, and is approved all the same', async () => {
    await changePlan(plant, { raisesAlarms: false, remark: 'Under trial.' });
    const { id } = await change({});
    await measure(morning + minutes(5), 127.6);
    const { results } = await stated(id);
    expect(results.at(-1)).toMatchObject({
      state: 'good',
      signals: [expect.stringContaining('The sample average')],
    });
    expect(results.at(-1)!.sentence).toContain('By the sampling plan it calls nobody.');
    expect((await decided(id)).restart.state).toBe('approved');
  });

  it('is never stated and approved by one person, nor by two of one role', async () => {
    const promote = (role: 'tech' | 'engineer') =>
      plant.monitoring.savePlantRecord(
        { kind: 'people', record: { id: 'tech', name: 'Tech', role } },
        'x',
        engineer,
      );
    const { id } = await change({});
    await measure(morning + minutes(5));
    await promote('engineer');
    await stated(id);
    expect(await refusal(decided(id), 403, 'Runtrue-Person')).toContain(
      'These two signed: Engineer, a process engineer; Tech, a process engineer.',
    );
    // Back to the line does not make a technician's signature of an engineer's.
    plant.clock.time += minutes(1);
    await promote('tech');
    await refusal(decided(id), 403, 'Runtrue-Person');
  });

  it('counts the role that whoever stated it had at that moment', async () => {
    const { id } = await change({});
    await measure(morning + minutes(5));
    await stated(id);
    plant.clock.time += minutes(1);
    await plant.monitoring.savePlantRecord(
      { kind: 'people', record: { id: 'tech', name: 'Tech', role: 'engineer' } },
      'Passed the examination',
      engineer,
    );
    const same = await refusal(decided(id, undefined, { ...lone, personId: 'tech' }), 403, 'Runtrue-Person');
    expect(same).toContain('The same person cannot sign twice.');
    expect((await decided(id)).restart.state).toBe('approved');
  });

  it('is stored once under the id of a statement, and refuses another under it', async () => {
    const { id } = await change({});
    await measure(morning + minutes(5));
    const statement = { id: randomUUID() };
    await plant.monitoring.stateFirstPiece(id, statement, tech);
    await plant.monitoring.stateFirstPiece(id, statement, tech);
    await refusal(plant.monitoring.stateFirstPiece(id, { ...statement, text: 'x' }, tech), 409, 'id');
    expect(await refusal(stated(id), 409, 'id')).toContain(
      'Tech stated the first piece as done at 2025-09-03 08:05',
    );
    const { entries } = await decided(id);
    expect(entries).toHaveLength(2);
    await refusal(decided(id), 409, 'decision');
    await refusal(stated(id), 409, 'id');
    await refusal(stated(randomUUID()), 404, 'id');
  });

  it('takes an approval back by a new record, and waits again', async () => {
    const { id } = await change({});
    const answer = await measure(morning + minutes(5));
    await stated(id);
    await decided(id);
    await plant.monitoring.correct(
      answer.sampleId,
      { id: randomUUID(), revision: 1, reason: 'Wrong gauge', readings: readingsAbout(127.1) },
      tech,
    );
    plant.clock.time = morning + minutes(60);
    const detail = await restartDetail(plant.store, id, plant.clock.now());
    expect(detail.correctedSince).toEqual(['width']);
    expect(detail.results.find(({ streamId }) => streamId === 'width')!.revision).toBe(1);
    const taken = await decided(id, 'The gauge was wrong');
    expect(taken.restart).toMatchObject({ state: 'refused', unapproved: { parts: 300 } });
    expect(await waitingRestarts(plant.store, plant.clock.now())).toHaveLength(1);
    expect(taken.entries.map(({ kind }) => kind)).toEqual(['stated', 'approved', 'refused']);
  });

  it('is overtaken by the next change, which counts from the first one on', async () => {
    const first = await change({});
    const second = await change({ kind: 'changeover', modelId: 'Q10', at: iso(morning + minutes(3)) });
    plant.clock.time = morning + minutes(60);
    const open = await waitingRestarts(plant.store, plant.clock.now());
    expect(open).toMatchObject([
      { id: second.id, overtakes: [first.id], unapproved: { since: iso(morning), parts: 300 } },
    ]);
    const { restart, next } = await restartDetail(plant.store, first.id, plant.clock.now());
    expect(restart).toMatchObject({ state: 'overtaken', unapproved: { parts: 15 } });
    expect(next).toContain('that change has a first piece of its own');
    expect(await refusal(stated(first.id), 409, 'id')).toContain('changeover, 2025-09-03 08:03');
    // One that is recorded late is history at once.
    const late = await change({ kind: 'regrind', at: iso(morning - minutes(5)) });
    expect((await restartDetail(plant.store, late.id, plant.clock.now())).restart.state).toBe('overtaken');
    expect(await waitingRestarts(plant.store, plant.clock.now())).toHaveLength(1);

    // An approval found wrong afterwards is taken back in the record, and nothing waits for it any more.
    await measure(morning + minutes(61));
    await stated(second.id);
    await decided(second.id);
    const third = await change({ kind: 'changeover', modelId: 'Q12', at: iso(morning + minutes(62)) });
    const taken = await decided(second.id, 'Measured on the wrong wheel');
    expect(taken.entries.map(({ kind }) => kind)).toEqual(['stated', 'approved', 'refused', 'overtaken']);
    expect((await waitingRestarts(plant.store, plant.clock.now())).map(({ id }) => id)).toEqual([third.id]);
    expect((await verifyChain(plant.store.sql)).findings).toEqual([]);
  });

  it('survives that the server is started again', async () => {
    const { id } = await change({});
    await plant.reopen();
    expect((await waitingRestarts(plant.store, morning)).map((one) => one.id)).toEqual([id]);
  });
});
