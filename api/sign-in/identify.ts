import type { RateLimiters } from '../http/rate-limits.ts';
import { ProblemError } from '../problem.ts';
import type { Store } from '../store/store.ts';
import { type Acting, type Identify, PERSON_HEADER } from '../who.ts';
import { cookieOf } from './cookies.ts';
import { requireOwnPage } from './same-origin.ts';
import { sessionMay } from './session-may.ts';
import type { SignIn } from './sign-in.ts';

const signInFirst = (message: string): ProblemError =>
  new ProblemError(401, 'Sign in', message, [{ field: 'session', message }]);

/** Who acts, by the cookies of a session or of a registered station. */
export function identifyBySession(
  signIn: SignIn,
  store: Pick<Store, 'plantModel'>,
  limiters: Pick<RateLimiters, 'session'>,
): Identify {
  return async (request): Promise<Acting> => {
    const changes = request.method !== 'GET' && request.method !== 'HEAD';
    const carriesSession = cookieOf(request, 'session') !== null;
    if (!carriesSession && cookieOf(request, 'station') === null)
      throw signInFirst(
        'Nobody is signed in here. Open the page of Runtrue and sign in; a program needs a key.',
      );
    requireOwnPage(request);
    const { session, registration } = await signIn.visitor(request, changes);
    const stationId = registration?.stationId ?? null;
    if (session !== null) {
      const { people } = await store.plantModel();
      const person = people.find(({ id }) => id === session.personId) ?? null;
      if (person !== null) {
        await limiters.session(`person ${person.id}`);
        if (changes) requireSamePerson(request, person.id, person.name);
        const { limited } = session;
        const may: Acting['may'] = (action) => sessionMay({ limited }, person.role, action);
        return { how: 'session', person, stationId, keyId: null, may, limited };
      }
    }
    if (registration === null)
      throw signInFirst('Your session has ended. Sign in again; what you typed stays.');
    await limiters.session(`station ${registration.id}`);
    const may: Acting['may'] = (action) => action === 'read' || action === 'come in';
    return { how: 'station', person: null, stationId, keyId: null, may };
  };
}

/** What one person entered is never signed by another who came to the same station after them. */
function requireSamePerson(request: Request, signedIn: string, name: string): void {
  const meant = request.headers.get(PERSON_HEADER);
  if (meant === null || meant === '' || meant === signedIn) return;
  const message = `This was entered by "${meant.slice(0, 64)}", but ${name} is signed in here; it waits until they sign in again.`;
  throw new ProblemError(401, 'Another person is signed in', message, [{ field: PERSON_HEADER, message }]);
}
