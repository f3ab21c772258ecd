/** Who acts: the seam between the ways of signing in and everything else. */
import { keyMayNot } from './keys/key-refusals.ts';
import type { About } from './keys/reach.ts';
import { type Action, notAllowed, roleMay } from './permissions.ts';
import { ProblemError } from './problem.ts';
import type { Person, PlantModel } from './schemas.ts';
import { secondFactorFirst } from './sign-in/session-may.ts';

export const PERSON_HEADER = 'Runtrue-Person';

/** Who acts, and how that is known. */
export interface Acting {
  /** named: told, without proof. session: signed in. key: a program. station: a registered one, nobody signed in. */
  readonly how: 'named' | 'session' | 'key' | 'station';
  /** null: a station where nobody is signed in, or a key without a person; these only read or import. */
  readonly person: Person | null;
  readonly stationId: string | null;
  readonly keyId: string | null;
  readonly may: (action: Action) => boolean;
  /** true: a second factor has to be set up before anything else. */
  readonly limited?: boolean;
  /** Of a key that is only for some lines and streams: refuses a request about others. */
  readonly within?: (about: About) => void;
}

/** @throws ProblemError 401 that says how to be known. */
export type Identify = (request: Request) => Promise<Acting>;

/**
 * Lets an action pass, or refuses it: 401 where nobody is known, 403 where they may not. A key that is only for some
 * streams is refused as well, unless what is asked for is about none, or is held against them later.
 */
export type Admit = (
  request: Request,
  action: Action,
  reach?: 'about no stream' | 'asked later',
) => Promise<Acting>;

export const admitBy =
  (identify: Identify): Admit =>
  async (request, action, reach) => {
    const acting = await identify(request);
    requireMay(acting, request, action);
    if (reach === undefined) acting.within?.({});
    return acting;
  };

/** Refuses what whoever acts may not do. */
export function requireMay(acting: Acting, request: Request, action: Action): void {
  const { may, keyId, person, how } = acting;
  if (may(action)) return;
  if (keyId !== null) throw keyMayNot(keyId, action);
  if (person === null) throw nobodyActs(request.headers, how);
  if (acting.limited && roleMay(person.role, action)) throw secondFactorFirst();
  throw notAllowed(action, person);
}

/** 401: the action needs a person, and none is known. */
export function nobodyActs(headers: Headers, how: Acting['how']): ProblemError {
  const id = how === 'named' ? headers.get(PERSON_HEADER) : null;
  const message =
    how !== 'named'
      ? 'Sign in first: this goes into the record under the name of a person.'
      : id === null || id === ''
        ? `Say who is acting: send the header ${PERSON_HEADER} with the id of a person; GET /api/plant lists them.`
        : `The header ${PERSON_HEADER} names ${JSON.stringify(id.slice(0, 64))}, but there is no such person; ` +
          'send the id of one that GET /api/plant lists, or add the person first.';
  return new ProblemError(401, 'Who is acting?', message, [{ field: PERSON_HEADER, message }]);
}

/** What may be done where the person is not known: looking, and preparing an import that a person then stores. */
const withoutPerson = (action: Action): boolean =>
  action === 'come in' || action === 'read' || action === 'import samples';

/**
 * For the demo and for tests: whoever the header names acts, without proof. Until there is an administrator anybody
 * may add people, for nobody else could.
 */
export function named(plantModel: () => Promise<PlantModel>): Identify {
  return async (request) => {
    const id = request.headers.get(PERSON_HEADER);
    const { people } = await plantModel();
    const person = people.find((candidate) => candidate.id === id) ?? null;
    const unmanaged = !people.some(({ role }) => role === 'administrator');
    return {
      how: 'named',
      person,
      stationId: null,
      keyId: null,
      may: (action) => {
        if (action === 'manage people' && unmanaged && (person !== null || people.length === 0)) return true;
        return person === null ? withoutPerson(action) : roleMay(person.role, action);
      },
    };
  };
}
