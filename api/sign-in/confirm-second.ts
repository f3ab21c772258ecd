import type { AppParts } from '../app-parts.ts';
import type { ConfirmSecond } from '../http/handle.ts';
import { unacceptable } from '../problem.ts';

/** With sign-in the second person proves who they are in the same request; without, it is enough that they are there. */
export const confirmSecond =
  ({ signIn, store }: Pick<AppParts, 'signIn' | 'store'>): ConfirmSecond =>
  async (request, address, { personId, secret }) => {
    if (signIn !== null) {
      if (secret === undefined)
        throw unacceptable(
          'secondSignature.secret',
          'is missing; the second person gives their PIN or password.',
        );
      return signIn.confirm(request, address, { personId, secret });
    }
    const { people } = await store.plantModel();
    if (people.some(({ id }) => id === personId)) return;
    throw unacceptable('secondSignature.personId', 'names nobody; GET /api/plant lists the people.');
  };
