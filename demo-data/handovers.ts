/** The last day's handovers: one taken over, and one that still waits at the demo's present. */
import { takeHandover } from '../api/handovers/end-handover.ts';
import { giveHandover } from '../api/handovers/give-handover.ts';
import { handoverNo } from '../api/handovers/handover-records.ts';
import { mattersOf, openedSince, openWork } from '../api/handovers/open-work.ts';
import type { OpenMatter } from '../api/schemas.ts';
import { NO_STREAM, type Store } from '../api/store/store.ts';
import type { Agenda } from './agenda.ts';
import { timeOf } from './generator/calendar.ts';
import { keyedUuid } from './generator/random.ts';
import { supervisorAt } from './shifts.ts';

const LAST_DAY = 41;

interface HandoverParts {
  readonly store: Store;
  readonly agenda: Agenda;
  readonly seed: number;
  readonly now: () => number;
}

const keysOf = (matters: readonly OpenMatter[]): string[] => matters.map(({ key }) => key);

export function planHandovers({ store, agenda, seed, now }: HandoverParts): void {
  let written = 0;
  const newId = (): string =>
    keyedUuid({ seed, purpose: 'handoverId', characteristic: 0, place: 0, index: written++ });

  async function give(words: string): Promise<number> {
    const open = await openWork(store, now());
    const submission = { id: newId(), words, seen: keysOf(mattersOf(open)) };
    const given = await store.transaction(
      (to) => giveHandover(to, open, submission, supervisorAt(now()), now()),
      [NO_STREAM],
    );
    return given.no;
  }

  async function take(no: number, words: string): Promise<void> {
    const open = await openWork(store, now());
    const given = (await handoverNo(store.sql, no))!;
    const submission = { id: newId(), words, seen: keysOf(openedSince(given.open, open)) };
    await store.transaction(
      (to) => takeHandover(to, no, open, submission, supervisorAt(now()), now()),
      [NO_STREAM],
    );
  }

  agenda.add(timeOf(LAST_DAY, '13:55'), async () => {
    const no = await give(
      'Cell 2: the setter moves the offset by hand; write each move down. Rim line 2: one tech for both lines until 16:00, so measure width first.',
    );
    agenda.add(timeOf(LAST_DAY, '14:06'), () =>
      take(no, 'Read at the board with shift 1. I look at cell 2 first.'),
    );
  });
  agenda.add(timeOf(LAST_DAY, '19:28'), async () => {
    await give(
      'I leave at 20:00 today; shift 1 covers the last two hours. No roll change on rim line 2 without the engineer.',
    );
  });
}
