import { describe, expect, it } from 'vitest';
import type { Alarm } from '../../api/schemas.ts';
import { mostUrgentFirst } from '../../web/floor/words.ts';

const alarm = (id: number, state: Alarm['state'], raisedAt: string, acknowledged: boolean): Alarm => ({
  id,
  streamId: 'S',
  modelId: 'M',
  state,
  active: state !== 'returned-to-normal',
  raisedAt,
  acknowledgedAt: acknowledged ? raisedAt : null,
  returnedToNormalAt: null,
  closedAt: null,
  decision: null,
  cause: null,
  sentence: '',
  signalCount: 1,
  outsideSamples: 0,
  newest: null,
  decidedBeforeRaisedAgain: false,
  closedWhileActive: false,
  severity: 'process',
  shelved: null,
  nobodyTold: false,
  containment: {
    from: raisedAt,
    to: null,
    lastGoodSampleId: null,
    runningHours: 1,
    suspectParts: 310,
    lots: [],
    sentence: '',
  },
});

describe('the order of alarms on the board', () => {
  it('puts what nobody has acknowledged first, then the oldest', () => {
    const order = mostUrgentFirst([
      alarm(1, 'acknowledged', '2025-09-01T08:00:00Z', true),
      alarm(2, 'unacknowledged', '2025-09-01T10:00:00Z', false),
      alarm(3, 'returned-to-normal', '2025-09-01T07:00:00Z', true),
      // Back to normal, but nobody has looked: still waits for a person.
      alarm(4, 'returned-to-normal', '2025-09-01T09:00:00Z', false),
    ]).map((item) => item.id);
    expect(order).toEqual([4, 2, 1, 3]);
  });

  it('leaves the list it was given as it was', () => {
    const alarms = Object.freeze([
      alarm(2, 'unacknowledged', '2025-09-01T10:00:00Z', false),
      alarm(1, 'unacknowledged', '2025-09-01T08:00:00Z', false),
    ]);
    expect(mostUrgentFirst(alarms).map((item) => item.id)).toEqual([1, 2]);
  });
});
