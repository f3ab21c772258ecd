import type { SecondSignature } from '../../api/schemas.ts';
import { peopleById, plantModel } from '../plant.ts';
import { actingPersonId, session, signInIsOn } from '../session.ts';
import { Field } from '../ui/Field.tsx';
import { wrongAt } from '../ui/ProblemNotice.tsx';
import { roleNames } from '../ui/role-names.ts';
import { rolesBeside, type SignedByTwo } from './two-signatures.ts';
import './sign-in.css';

export interface TypedSignature {
  readonly personId: string;
  readonly secret: string;
}
export const noSignature: TypedSignature = { personId: '', secret: '' };

/** Fields of a second signature that say themselves what is wrong with them. */
export const secondSignerFields = [
  'secondSignature',
  'secondSignature.personId',
  'secondSignature.secret',
  'secret',
];

/** What is sent; nothing where nobody was chosen. */
export const signatureFrom = ({ personId, secret }: TypedSignature): { secondSignature?: SecondSignature } =>
  personId === '' ? {} : { secondSignature: { personId, ...(secret !== '' && { secret }) } };

/** A second person signs in the same step, here and now, with their own PIN or password. */
export function SecondSigner({
  what,
  why,
  typed,
  problem,
  change,
}: {
  what: SignedByTwo;
  why: string;
  typed: TypedSignature;
  problem: Error | null;
  change: (typed: TypedSignature) => void;
}) {
  const acting = actingPersonId.value === null ? undefined : peopleById.value.get(actingPersonId.value);
  const roles = rolesBeside(what, acting?.role);
  const candidates = (plantModel.value?.people ?? []).filter(
    ({ id, role }) => roles.includes(role) && id !== actingPersonId.value,
  );
  const atStation = session.value?.stationId != null;
  return (
    <fieldset class="second-signer">
      <legend>Second signature</legend>
      <p>{why}</p>
      <Field
        label="Second person"
        hint={
          candidates.length > 0
            ? undefined
            : roles.length === 0
              ? `As ${acting === undefined ? 'nobody' : roleNames[acting.role]} you cannot begin this.`
              : `There is nobody yet who could: ${roles.map((role) => roleNames[role]).join(' or ')}.`
        }
        wrong={wrongAt(problem, 'secondSignature') ?? wrongAt(problem, 'secondSignature.personId')}
      >
        <select
          value={typed.personId}
          onChange={(event) => change({ personId: event.currentTarget.value, secret: '' })}
        >
          <option value="">Choose…</option>
          {candidates.map((person) => (
            <option key={person.id} value={person.id}>
              {person.name} ({roleNames[person.role]})
            </option>
          ))}
        </select>
      </Field>
      {signInIsOn.value && (
        <Field
          label={atStation ? 'Their PIN or password' : 'Their password'}
          hint="Typed by the second person. It is checked and not kept."
          wrong={wrongAt(problem, 'secondSignature.secret') ?? wrongAt(problem, 'secret')}
        >
          <input
            type="password"
            autocomplete="off"
            value={typed.secret}
            onInput={(event) => change({ ...typed, secret: event.currentTarget.value })}
          />
        </Field>
      )}
    </fieldset>
  );
}
