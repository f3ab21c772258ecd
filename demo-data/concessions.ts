/** Two concessions: one that has expired, and one that holds at the demo's present. Customers are made up. */
import { addConcessionEntry } from '../api/concessions/add-concession-entry.ts';
import { grantConcession } from '../api/concessions/grant-concession.ts';
import type { ConcessionSubmission } from '../api/schemas.ts';
import { NO_STREAM, type Store } from '../api/store/store.ts';
import type { Agenda } from './agenda.ts';
import { timeOf } from './generator/calendar.ts';
import { keyedUuid } from './generator/random.ts';
import { people } from './plant.ts';

interface ConcessionParts {
  readonly store: Store;
  readonly agenda: Agenda;
  readonly seed: number;
  readonly now: () => number;
}

/** The newest alarm by then whose parts were counted behind the fence, with the count. */
async function newestCounted(store: Store): Promise<{ alarmId: number; counted: number } | null> {
  for (const { id } of await store.alarms({ limit: 1000 })) {
    const counted = (await store.alarmEntries(id)).findLast(
      ({ kind }) => kind === 'quarantined',
    )?.countedParts;
    if (counted) return { alarmId: id, counted };
  }
  return null;
}

export function planConcessions({ store, agenda, seed, now }: ConcessionParts): void {
  const quality = people.qualityManager.id;
  let written = 0;
  const newId = (): string =>
    keyedUuid({ seed, purpose: 'concessionId', characteristic: 0, place: 0, index: written++ });

  /** Half of what was counted is taken, and two thirds of that go an hour later. */
  function plan(at: number, terms: Omit<ConcessionSubmission, 'id' | 'alarmId' | 'quantity'>): void {
    agenda.add(at, async () => {
      const found = await newestCounted(store);
      if (found === null) return;
      const { alarmId, counted } = found;
      const quantity = Math.floor(counted / 2);
      const submission = { ...terms, id: newId(), alarmId, quantity };
      const { no } = await store.transaction(
        (to) => grantConcession(to, submission, quality, now()),
        [NO_STREAM],
      );
      const released = {
        id: newId(),
        kind: 'released',
        quantity: Math.floor((quantity * 2) / 3),
        text: 'Counted by hand at dispatch and labelled for this customer.',
      } as const;
      agenda.add(at + 3_600_000, async () => {
        await store.transaction((to) => addConcessionEntry(to, no, released, quality, now()), [NO_STREAM]);
      });
    });
  }

  plan(timeOf(31, '10:00'), {
    customer: 'Customer 4, farm trailers',
    consent: { document: 'Form 31 of their quality desk', givenBy: 'Their quality desk', on: '2025-10-01' },
    expiresOn: '2025-10-06',
    reason: 'The hub covers this place; it was tried on their axle.',
  });
  plan(timeOf(40, '10:00'), {
    customer: 'Customer 9, yard carts',
    consent: { document: 'Letter 118', givenBy: 'Their head of purchasing', on: '2025-10-10' },
    expiresOn: '2025-10-31',
    reason: 'These wheels turn at walking speed, and the customer has tried ten of them.',
  });
}
