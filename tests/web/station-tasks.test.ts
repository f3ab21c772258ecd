import { describe, expect, it } from 'vitest';
import type { FirstPieceResult, StationTask } from '../../api/schemas.ts';
import { laneName } from '../../web/lane-name.ts';
import { dueStreams } from '../../web/restarts/first-piece-due.ts';
import { countedParts, wrongCount } from '../../web/station/count-entry.ts';
import { withDecimalComma } from '../../web/station/decimal-comma.ts';
import { pressKey } from '../../web/station/keypad-text.ts';
import { dayInWords, isLikelySlip, lastTimeOfDay, slipQuestion } from '../../web/station/plant-clock.ts';
import { missedSamples, nextToMeasure, orderTasks } from '../../web/station/task-order.ts';

type State = StationTask['slots'][number]['state'];
const task = (streamId: string, ...slots: [string, State][]): StationTask => ({
  streamId,
  modelId: 'Q10',
  limitsVersion: null,
  expectation: null,
  openAlarmId: null,
  recent: [],
  slots: slots.map(([time, state]) => ({ dueAt: `2025-09-01T${time}:00Z`, state, sampleId: null })),
});

describe('what to measure first', () => {
  const ordered = orderTasks([
    task('done', ['06:30', 'done']),
    task('later', ['06:30', 'done'], ['09:30', 'upcoming'], ['10:30', 'upcoming']),
    task('unplanned'),
    task('due-10', ['08:10', 'due']),
    task('due-2', ['08:10', 'due']),
    task('sooner', ['09:00', 'upcoming']),
    task('late', ['07:30', 'missed'], ['07:50', 'late'], ['08:50', 'upcoming']),
    task('later-late', ['07:55', 'late'], ['06:55', 'declared missed']),
  ]);

  it('puts late before due before upcoming, the longest waiting first', () => {
    expect(ordered.map(({ task: { streamId }, urgency }) => [streamId, urgency])).toEqual([
      ['late', 'late'],
      ['later-late', 'late'],
      ['due-2', 'due'],
      ['due-10', 'due'],
      ['sooner', 'upcoming'],
      ['later', 'upcoming'],
      ['done', 'done'],
      ['unplanned', 'unplanned'],
    ]);
    expect(ordered[0]?.dueAt).toBe('2025-09-01T07:50:00Z');
    expect(ordered.at(-1)?.dueAt).toBeNull();
  });

  it('takes what a first piece waits for as due now, whatever the plan says', () => {
    const tasks = [
      task('later', ['09:30', 'upcoming']),
      task('done', ['06:30', 'done']),
      task('late', ['07:30', 'late']),
    ];
    const due = dueStreams([
      {
        results: [
          { streamId: 'later', state: 'not-measured' },
          { streamId: 'done', state: 'in-doubt' },
          { streamId: 'late', state: 'too-few' },
          { streamId: 'good', state: 'good' },
        ] as FirstPieceResult[],
      },
    ]);
    expect([...due]).toEqual(['later', 'done', 'late']);
    expect(
      orderTasks(tasks, due).map(({ task: { streamId }, urgency, dueAt }) => [streamId, urgency, dueAt]),
    ).toEqual([
      ['late', 'late', '2025-09-01T07:30:00Z'],
      ['done', 'due', null],
      ['later', 'due', null],
    ]);
    expect(orderTasks(tasks).map(({ urgency }) => urgency)).toEqual(['late', 'upcoming', 'done']);
  });

  it('goes on to the most urgent of another stream, and to none when nothing is due', () => {
    expect(nextToMeasure(ordered, null)?.task.streamId).toBe('late');
    expect(nextToMeasure(ordered, 'late')?.task.streamId).toBe('later-late');
    expect(nextToMeasure(orderTasks([task('a', ['09:00', 'upcoming'])]), null)).toBeNull();
    expect(nextToMeasure(orderTasks([task('a', ['09:00', 'due'])]), 'a')).toBeNull();
  });

  it('lists the misses that nobody has explained, by stream, the oldest first', () => {
    expect(
      missedSamples([
        task('a', ['08:30', 'missed'], ['07:45', 'missed'], ['06:30', 'declared missed']),
        task('b', ['07:30', 'missed'], ['09:30', 'late']),
        task('c', ['07:30', 'done']),
      ]),
    ).toEqual([
      { streamId: 'b', dueAt: ['2025-09-01T07:30:00Z'] },
      { streamId: 'a', dueAt: ['2025-09-01T07:45:00Z', '2025-09-01T08:30:00Z'] },
    ]);
  });
});

describe('the keypad', () => {
  const typed = (keys: string, mark: ',' | '.' = '.', start = { text: '', selected: false }) =>
    [...keys].reduce(
      (text, key) =>
        pressKey(
          text,
          key === 'm' ? 'mark' : key === 's' ? 'sign' : key === '<' ? 'back' : (key as '0'),
          mark,
        ),
      start,
    ).text;

  it('writes digits, one decimal mark, a sign, and takes the last character back', () => {
    expect(typed('127m1')).toBe('127.1');
    expect(typed('127m1m2', ',')).toBe('127,12');
    expect(typed('m5')).toBe('0.5');
    expect(typed('5s')).toBe('-5');
    expect(typed('5ss')).toBe('5');
    expect(typed('127<<')).toBe('1');
    expect(typed('<')).toBe('');
  });

  it('replaces a selected text with the first digit, but only turns its sign', () => {
    const start = { text: '955.1', selected: true };
    expect(typed('12', '.', start)).toBe('12');
    expect(typed('<', '.', start)).toBe('');
    expect(typed('s', '.', start)).toBe('-955.1');
  });
});

describe('counted parts', () => {
  it('asks for whole numbers, no more nonconforming than inspected', () => {
    expect(countedParts('310', '2')).toEqual({ inspected: 310, nonconforming: 2 });
    expect(countedParts('310', '310')).toEqual({ inspected: 310, nonconforming: 310 });
    expect(wrongCount('inspected', '0', '0')).toMatch(/At least one/);
    expect(wrongCount('inspected', '31.5', '')).toMatch(/whole number/);
    expect(wrongCount('nonconforming', '311', '310')).toMatch(/More nonconforming than the 310/);
    expect(wrongCount('nonconforming', '', '310')).toMatch(/whole number/);
    for (const [inspected, nonconforming] of [
      ['', '0'],
      ['310', '-1'],
      ['10', '11'],
      ['0', '0'],
    ] as const)
      expect(countedParts(inspected, nonconforming)).toBeNull();
  });
});

describe('the name of a lane', () => {
  it('is what the stream name adds to the characteristic', () => {
    expect(laneName('Hub bore, lane A', 'Hub bore')).toBe('lane A');
    expect(laneName('hub bore – lane A', 'Hub bore')).toBe('lane A');
    expect(laneName('lane A', 'Hub bore')).toBe('lane A');
    expect(laneName('Hub bore', 'Hub bore')).toBe('');
  });
});

describe('a sentence for a decimal comma', () => {
  it('changes measured values, and neither names nor other numbers', () => {
    expect(
      withDecimalComma(
        '951.52 mm is far from 955.04\u00a0mm. Is it a Q12 12×6.0? Did you mean 955.12 mm?',
        'mm',
      ),
    ).toBe('951,52 mm is far from 955,04\u00a0mm. Is it a Q12 12×6.0? Did you mean 955,12 mm?');
    expect(withDecimalComma('Take 1.5 pieces, 3.0 mm, not 3.1 mmHg.', 'mm')).toBe(
      'Take 1.5 pieces, 3,0 mm, not 3.1 mmHg.',
    );
  });
});

describe('a time of day', () => {
  const now = Date.UTC(2025, 8, 1, 4, 30); // 06:30 in the plant, two hours east
  it('is the last one that the plant clock showed', () => {
    expect(lastTimeOfDay('06:30', now, 120)).toBe(now);
    expect(lastTimeOfDay('6:05', now, 120)).toBe(Date.UTC(2025, 8, 1, 4, 5));
    expect(lastTimeOfDay('06:31', now, 120)).toBe(Date.UTC(2025, 7, 31, 4, 31));
    expect(lastTimeOfDay('23:59', now, 120)).toBe(Date.UTC(2025, 7, 31, 21, 59));
  });
  it('is nothing where the text is none', () => {
    for (const text of ['', '24:00', '7:60', 'noon', '0730'])
      expect(lastTimeOfDay(text, now, 120)).toBeNull();
  });
});

describe('a time of day that is still to come', () => {
  const clock = (hours: number, minutes: number) => Date.UTC(2025, 8, 1, hours, minutes) - 120 * 60_000;
  const slip = (text: string, now: number) =>
    isLikelySlip(lastTimeOfDay(text, now, 120) ?? Number.NaN, now, 120);

  it('is asked about where it is nearer ahead than behind', () => {
    const now = clock(20, 0);
    expect(slip('20:30', now)).toBe(true);
    expect(slip('23:59', now)).toBe(true);
    expect(slip('20:00', now)).toBe(false);
    expect(slip('19:55', now)).toBe(false);
    // Long ago, but today: it did happen, and the day beside the field says which.
    expect(slip('00:10', now)).toBe(false);
    expect(slipQuestion(lastTimeOfDay('20:30', now, 120) ?? 0, now, 120)).toBe(
      '20:30 today is still to come. Was it yesterday, 23 h 30 min ago, or did you mean another time?',
    );
  });

  it('is yesterday without a question just after midnight and after a night shift', () => {
    expect(slip('23:50', clock(0, 20))).toBe(false);
    expect(slip('22:00', clock(6, 0))).toBe(false);
    expect(slip('00:30', clock(0, 20))).toBe(true);
  });

  it('is shown with its day whenever that is not today or more than two hours ago', () => {
    const now = clock(20, 0);
    expect(dayInWords('20:30', now, 120)).toBe('yesterday, 2025-08-31, 23 h 30 min ago');
    expect(dayInWords('17:59', now, 120)).toBe('today, 2025-09-01, 2 h 01 min ago');
    expect(dayInWords('18:00', now, 120)).toBeNull();
    expect(dayInWords('23:50', clock(0, 20), 120)).toBe('yesterday, 2025-08-31, 30 min ago');
    expect(dayInWords('2', now, 120)).toBeNull();
  });
});
