import type { Clock } from '../clock.ts';
import { NO_STREAM, type Store } from '../store/store.ts';
import {
  countFailure,
  forgetFailures,
  ofAddress,
  ofPerson,
  refuseWhileWaiting,
  type Way,
} from './attempts.ts';

/** Whether somebody has proven who they are. `isRight` compares what they gave. */
export type Prove = (
  personId: string,
  way: Way,
  address: string,
  isRight: () => Promise<boolean>,
) => Promise<boolean>;

/** Counts the attempt, compares, and forgets it where the secret is right. */
export const createProve =
  ({ store, clock }: { readonly store: Store; readonly clock: Clock }): Prove =>
  async (personId, way, address, isRight) => {
    const person = ofPerson(personId, way);
    const place = ofAddress(address);
    await store.transaction(
      async ({ sql }) => {
        await refuseWhileWaiting(sql, [person, place], clock.now());
        await countFailure(sql, person, clock.now());
      },
      [NO_STREAM],
    );
    const known = (await store.plantModel()).people.some(({ id }) => id === personId);
    const right = (await isRight()) && known;
    // In a hurry a password is typed where the name belongs.
    const about = known ? personId : 'nobody here';
    await store.transaction(
      async (transaction) => {
        if (right) return forgetFailures(transaction.sql, person);
        await countFailure(transaction.sql, place, clock.now());
        await transaction.addNote({
          at: clock.now(),
          personId: null,
          what: 'sign-in failed',
          about,
          detail: { way, address },
        });
      },
      [NO_STREAM],
    );
    return right;
  };
