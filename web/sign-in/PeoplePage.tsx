import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { Account, RegisteredStation } from '../../api/schemas.ts';
import { call } from '../client.ts';
import { formatDateTime } from '../format.ts';
import { IdentitiesSection } from '../keys/IdentitiesSection.tsx';
import { KeysSection } from '../keys/KeysSection.tsx';
import { peopleById, plantModel, stationsById, utcOffsetMinutes } from '../plant.ts';
import { session, signInIsOn } from '../session.ts';
import { Field } from '../ui/Field.tsx';
import { Notice } from '../ui/Notice.tsx';
import { ProblemNotice } from '../ui/ProblemNotice.tsx';
import { roleNames } from '../ui/role-names.ts';
import { SecondFactorRoles } from './SecondFactorRoles.tsx';
import './sign-in.css';

const LOOK_AGAIN = 10_000;

/** For administrators: who can sign in and how, and which browsers stand at a station. */
export default function PeoplePage() {
  if (!signInIsOn.value) {
    return (
      <div class="stack">
        <h1>People and stations</h1>
        <p>This server runs without sign-in; nobody here has a password or PIN.</p>
      </div>
    );
  }
  if (!session.value?.may.includes('manage people')) {
    return (
      <div class="stack">
        <h1>People and stations</h1>
        <p>Only an administrator works here. Sign in as one.</p>
      </div>
    );
  }
  return (
    <div class="stack people-page">
      <h1>People and stations</h1>
      <p>
        People are added in <a href="/setup">Setup</a>. Here each gets a one-time link, opens it on any device
        and chooses a password, a PIN, or both. Nobody else ever knows them.
      </p>
      <People />
      <SecondFactorRoles />
      <Stations />
      <IdentitiesSection />
      <KeysSection />
    </div>
  );
}

const waysOf = (account: Account | undefined): string => {
  const password = account?.hasSecondFactor ? 'password with code' : 'password';
  const ways = [account?.hasPassword && password, account?.hasPin && 'PIN'].filter(Boolean);
  return ways.length === 0 ? 'cannot sign in yet' : ways.join(' and ');
};

function People() {
  const accounts = useSignal<readonly Account[]>([]);
  const link = useSignal<{
    readonly name: string;
    readonly address: string;
    readonly expiresAt: string;
  } | null>(null);
  const problem = useSignal<Error | null>(null);
  const load = async () => {
    accounts.value = await call('GET /api/accounts');
  };
  const doing = async (work: () => Promise<unknown>) => {
    try {
      await work();
      await load();
      problem.value = null;
    } catch (error) {
      problem.value = error as Error;
    }
  };
  useEffect(() => {
    doing(async () => {});
    // People use their links on other screens meanwhile.
    const quietly = (): void => {
      if (document.visibilityState === 'visible') load().catch(() => {});
    };
    const looking = setInterval(quietly, LOOK_AGAIN);
    addEventListener('focus', quietly);
    return () => {
      clearInterval(looking);
      removeEventListener('focus', quietly);
    };
  }, []);
  return (
    <section class="panel stack" aria-labelledby="people-title">
      <h2 id="people-title">People</h2>
      {link.value !== null && (
        <Notice kind="fine" title={`One-time link for ${link.value.name}`}>
          <p>
            Give it to this person only. It works once, until{' '}
            {formatDateTime(link.value.expiresAt, utcOffsetMinutes.value)}, and is shown only now.
          </p>
          <p class="one-time-secret link">{link.value.address}</p>
        </Notice>
      )}
      <ProblemNotice error={problem.value} />
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a table wider than the screen scrolls by keyboard */}
      <section class="scroll" tabIndex={0} aria-label="People, table">
        <table>
          <thead>
            <tr>
              <th scope="col">Name</th>
              <th scope="col">Short name</th>
              <th scope="col">Role</th>
              <th scope="col">Signs in with</th>
              <th scope="col">Change</th>
            </tr>
          </thead>
          <tbody>
            {(plantModel.value?.people ?? []).map((person) => {
              const account = accounts.value.find(({ personId }) => personId === person.id);
              return (
                <tr key={person.id}>
                  <td>{person.name}</td>
                  <td>{person.id}</td>
                  <td>{roleNames[person.role]}</td>
                  <td>{waysOf(account)}</td>
                  <td>
                    <div class="row">
                      <button
                        type="button"
                        onClick={() =>
                          doing(async () => {
                            const params = { id: person.id };
                            const made = await call('POST /api/accounts/{id}/link', { params });
                            link.value = {
                              name: person.name,
                              address: `${location.origin}/sign-in#link=${made.secret}`,
                              expiresAt: made.expiresAt,
                            };
                          })
                        }
                      >
                        One-time link <span class="visually-hidden">for {person.name}</span>
                      </button>
                      {account?.hasSecondFactor && person.id !== session.value?.person?.id && (
                        <button
                          type="button"
                          onClick={() => {
                            if (
                              !confirm(
                                `${person.name} will be signed out, and their password alone lets them in until they set up a new second factor. Do it?`,
                              )
                            )
                              return;
                            doing(() =>
                              call('DELETE /api/accounts/{id}/second-factor', { params: { id: person.id } }),
                            );
                          }}
                        >
                          Reset second factor <span class="visually-hidden">of {person.name}</span>
                        </button>
                      )}
                      {account !== undefined && person.id !== session.value?.person?.id && (
                        <button
                          type="button"
                          onClick={() => {
                            if (
                              !confirm(`${person.name} will be signed out and can no longer sign in. Do it?`)
                            )
                              return;
                            doing(() => call('DELETE /api/accounts/{id}', { params: { id: person.id } }));
                          }}
                        >
                          Take sign-in away <span class="visually-hidden">from {person.name}</span>
                        </button>
                      )}
                    </div>
                  </td>
                </tr>
              );
            })}
          </tbody>
        </table>
      </section>
    </section>
  );
}

function Stations() {
  const registered = useSignal<readonly RegisteredStation[]>([]);
  const chosen = useSignal('');
  const code = useSignal<{
    readonly name: string;
    readonly secret: string;
    readonly expiresAt: string;
  } | null>(null);
  const problem = useSignal<Error | null>(null);
  const doing = async (work: () => Promise<unknown>) => {
    try {
      await work();
      registered.value = await call('GET /api/registered-stations');
      problem.value = null;
    } catch (error) {
      problem.value = error as Error;
    }
  };
  useEffect(() => {
    doing(async () => {});
  }, []);
  const stations = plantModel.value?.stations ?? [];
  return (
    <section class="panel stack" aria-labelledby="stations-title">
      <h2 id="stations-title">Registered stations</h2>
      <p>
        A browser that stays at its station is registered once. From then on it shows the boards without
        anybody signed in, and people sign in there with their PIN.
      </p>
      {stations.length === 0 ? (
        <p>
          There is no station yet; add one in <a href="/setup">Setup</a>.
        </p>
      ) : (
        <div class="row">
          <Field label="Station">
            <select
              value={chosen.value}
              onChange={(event) => {
                chosen.value = event.currentTarget.value;
              }}
            >
              <option value="">Choose…</option>
              {stations.map((station) => (
                <option key={station.id} value={station.id}>
                  {station.name} ({station.id})
                </option>
              ))}
            </select>
          </Field>
          <button
            type="button"
            class="main"
            disabled={chosen.value === ''}
            onClick={() =>
              doing(async () => {
                const params = { id: chosen.value };
                const made = await call('POST /api/stations/{id}/registration-code', { params });
                code.value = { name: stationsById.value.get(chosen.value)?.name ?? chosen.value, ...made };
              })
            }
          >
            Make a code
          </button>
        </div>
      )}
      {code.value !== null && (
        <Notice kind="fine" title={`Code for ${code.value.name}`}>
          <p class="one-time-secret">{code.value.secret}</p>
          <p>
            In the browser at the station open {location.origin}/sign-in, choose “This browser stands at a
            station for good” and type the code. It works once, until{' '}
            {formatDateTime(code.value.expiresAt, utcOffsetMinutes.value)}.
          </p>
        </Notice>
      )}
      <ProblemNotice error={problem.value} />
      {registered.value.length > 0 && (
        // biome-ignore lint/a11y/noNoninteractiveTabindex: a table wider than the screen scrolls by keyboard
        <section class="scroll" tabIndex={0} aria-label="Registered stations, table">
          <table>
            <thead>
              <tr>
                <th scope="col">Station</th>
                <th scope="col">Registered</th>
                <th scope="col">By</th>
                <th scope="col">Change</th>
              </tr>
            </thead>
            <tbody>
              {registered.value.map((one) => {
                const name = stationsById.value.get(one.stationId)?.name ?? one.stationId;
                return (
                  <tr key={one.id}>
                    <td>{name}</td>
                    <td>{formatDateTime(one.registeredAt, utcOffsetMinutes.value)}</td>
                    <td>{peopleById.value.get(one.registeredBy)?.name ?? one.registeredBy}</td>
                    <td>
                      <button
                        type="button"
                        onClick={() =>
                          doing(() =>
                            call('DELETE /api/registered-stations/{id}', { params: { id: one.id } }),
                          )
                        }
                      >
                        End registration <span class="visually-hidden">of {name}</span>
                      </button>
                    </td>
                  </tr>
                );
              })}
            </tbody>
          </table>
        </section>
      )}
    </section>
  );
}
