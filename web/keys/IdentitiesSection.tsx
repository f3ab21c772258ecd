import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { Identity } from '../../api/schemas.ts';
import { call } from '../client.ts';
import { formatDateTime } from '../format.ts';
import { plantModel, utcOffsetMinutes } from '../plant.ts';
import { Field } from '../ui/Field.tsx';
import { ProblemNotice, wrongAt } from '../ui/ProblemNotice.tsx';

const NOBODY = 'Nobody yet';

/** For administrators: who at the sign-in provider is which person. Nothing where there is no provider. */
export function IdentitiesSection() {
  const provider = useSignal<string | null>(null);
  const identities = useSignal<readonly Identity[]>([]);
  const problem = useSignal<Error | null>(null);
  const email = useSignal('');
  const personId = useSignal('');
  const load = async () => {
    provider.value = (await call('GET /api/sign-in/provider')).name;
    if (provider.value !== null) identities.value = await call('GET /api/identities');
  };
  const doing = async (work: () => Promise<unknown>) => {
    try {
      await work();
      problem.value = null;
    } catch (error) {
      problem.value = error as Error;
    }
    await load().catch(() => {});
  };
  useEffect(() => {
    doing(load);
  }, []);
  if (provider.value === null) return null;

  const people = plantModel.value?.people ?? [];
  const announce = (event: Event) => {
    event.preventDefault();
    doing(async () => {
      await call('POST /api/identities', { body: { email: email.value.trim(), personId: personId.value } });
      email.value = '';
    });
  };
  const options = (none: string) => (
    <>
      <option value="">{none}</option>
      {people.map((person) => (
        <option key={person.id} value={person.id}>
          {person.name} ({person.id})
        </option>
      ))}
    </>
  );
  return (
    <section class="panel stack" aria-labelledby="identities-title">
      <h2 id="identities-title">Accounts at {provider.value}</h2>
      <p>
        An account there opens nothing here until you say which person it is: by its address before the first
        sign-in, or in this list after it.
      </p>
      <ProblemNotice error={problem.value} shownFields={['email']} />
      {identities.value.length > 0 && (
        // biome-ignore lint/a11y/noNoninteractiveTabindex: a table wider than the screen scrolls by keyboard
        <section class="scroll" tabIndex={0} aria-label={`Accounts at ${provider.value}, table`}>
          <table>
            <thead>
              <tr>
                <th scope="col">Account</th>
                <th scope="col">First here</th>
                <th scope="col">Is</th>
              </tr>
            </thead>
            <tbody>
              {identities.value.map((one) => {
                const account = [one.name, one.email].filter(Boolean).join(', ') || 'without a name';
                return (
                  <tr key={one.id}>
                    <td>{account}</td>
                    <td>
                      {one.firstSeenAt === null
                        ? 'not yet'
                        : formatDateTime(one.firstSeenAt, utcOffsetMinutes.value)}
                    </td>
                    <td>
                      <select
                        aria-label={`Which person is ${account}?`}
                        value={one.personId ?? ''}
                        onChange={(event) => {
                          const chosen = event.currentTarget.value;
                          doing(() =>
                            call('PUT /api/identities/{id}', {
                              params: { id: one.id },
                              body: { personId: chosen === '' ? null : chosen },
                            }),
                          );
                        }}
                      >
                        {options(NOBODY)}
                      </select>
                    </td>
                  </tr>
                );
              })}
            </tbody>
          </table>
        </section>
      )}
      <form class="row" onSubmit={announce}>
        <Field label="E-mail address of the account" wrong={wrongAt(problem.value, 'email')}>
          <input
            type="email"
            required
            value={email.value}
            onInput={(event) => {
              email.value = event.currentTarget.value;
            }}
          />
        </Field>
        <Field label="Is">
          <select
            required
            value={personId.value}
            onChange={(event) => {
              personId.value = event.currentTarget.value;
            }}
          >
            {options('Choose…')}
          </select>
        </Field>
        <button type="submit">Let them sign in</button>
      </form>
    </section>
  );
}
